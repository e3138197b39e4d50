package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/bmatcuk/doublestar/v4"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/policy"
)

const (
	policyName   = "shuntwright.toml"
	acceptedName = "accepted.toml"
)

// A decided is the policy that counts for one netlist.
type decided struct {
	*policy.Policy
	path  string // as printed; "" where there is none
	dir   string // its folder
	given bool   // by --policy
}

// policy reads the policy for a netlist: the file that was named, else the first one found upward from the netlist.
func (in inputs) decide(set *source.Set, netlist string, list []*rules.Rule) (d decided, diags []source.Diagnostic, unread []report.Unread) {
	d.Policy = policy.None(list)
	name := in.policy
	if d.given = name != ""; !d.given {
		if name = upward(filepath.Dir(netlist)); name == "" {
			return d, nil, nil
		}
	}
	d.dir, d.path = filepath.Dir(name), shown(name)
	var text []byte
	var err error
	if d.given {
		text, err = readNamed(name, in.fileBytes())
	} else {
		text, err = readFound(d.dir, policyName, in.fileBytes())
	}
	if err != nil {
		return d, nil, []report.Unread{{Path: d.path, Message: err.Error()}}
	}
	d.Policy, diags = policy.Read(set, set.Add(d.path, text, source.Span{}), list)
	if unusable(text) {
		return d, nil, []report.Unread{spoilt(set, d.path, diags)}
	}
	return d, diags, nil
}

// readFound reads a plain file that nobody named: nil where it is not there.
func readFound(dir, name string, most int) ([]byte, error) {
	text, err := readBeside(dir, name, "", most)
	if errors.Is(err, errOutside) {
		err = errLinked
	}
	return text, err
}

// upward is the policy file in a folder or the nearest one above it; "" where there is none.
func upward(dir string) string {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	for {
		name := filepath.Join(dir, policyName)
		if exists(name) {
			return name
		}
		if abs == filepath.Dir(abs) {
			return ""
		}
		dir, abs = filepath.Join(dir, ".."), filepath.Dir(abs)
	}
}

// acceptanceFolders are where acceptances for a netlist may stand, that of the policy first.
func (in inputs) acceptanceFolders(netlist string, d decided) (dirs []string) {
	add := func(dir string) {
		if !slices.ContainsFunc(dirs, func(o string) bool { return same(o, dir) }) {
			dirs = append(dirs, dir)
		}
	}
	if d.path != "" {
		add(d.dir)
	}
	if d.given {
		if own := upward(filepath.Dir(netlist)); own != "" {
			add(filepath.Dir(own))
		}
	}
	add(filepath.Dir(netlist))
	return dirs
}

// acceptances reads what stands in comment cards and files for a netlist.
func (in inputs) acceptances(set *source.Set, netlist string, pragmas []source.Span, d decided) (list []policy.Acceptance, diags []source.Diagnostic, unread []report.Unread) {
	list, diags = policy.ReadCards(set, pragmas)
	for i, dir := range in.acceptanceFolders(netlist, d) {
		path := shown(filepath.Join(dir, acceptedName))
		content, err := readFound(dir, acceptedName, in.fileBytes())
		if errors.Is(err, errEmpty) { // whoever takes the last one out leaves the file
			continue
		}
		if err != nil {
			unread = append(unread, report.Unread{Path: path, Message: err.Error()})
		}
		if err != nil || content == nil {
			continue
		}
		trusted := i == 0 && d.path != ""
		found, said := policy.ReadFile(set, set.Add(path, content, source.Span{}), !trusted)
		if unusable(content) {
			unread = append(unread, spoilt(set, path, said))
			continue
		}
		diags = append(diags, said...)
		rel := fromFolder(acceptanceRoot(dir, d, trusted), netlist)
		for _, a := range found {
			if a.For(rel) {
				list = append(list, a)
			}
		}
	}
	return list, diags, unread
}

// acceptanceRoot is the folder that the netlists of a file of acceptances count from: its own. A policy that was named
// may come from another copy of the tree; then it is the working folder.
func acceptanceRoot(dir string, d decided, trusted bool) string {
	if d.given && trusted {
		return "."
	}
	return dir
}

// fromFolder is a path counted from a folder, with slashes.
func fromFolder(dir, path string) string {
	from, errDir := filepath.Abs(dir)
	to, errPath := filepath.Abs(path)
	rel, err := filepath.Rel(from, to)
	if errDir != nil || errPath != nil || err != nil {
		return filepath.ToSlash(path)
	}
	return filepath.ToSlash(rel)
}

// policyRecords reads the part records that a policy names. They lie in its folder: whoever wrote it may be a stranger.
func (in inputs) policyRecords(set *source.Set, d decided) (files []file, unread []report.Unread) {
	names, at := d.Parts()
	if len(names) == 0 {
		return nil, nil
	}
	refuse := func(i int, err error) {
		p := set.Place(at[i])
		unread = append(unread, report.Unread{Path: p.Path, Line: p.Line, Column: p.Column, Message: fmt.Sprintf("parts %q: %v", names[i], err)})
	}
	root, err := os.OpenRoot(d.dir)
	if err != nil {
		refuse(0, folderRefusal(err))
		return nil, unread
	}
	defer root.Close()
	for i, name := range names {
		found, err := below(root, name)
		if err != nil {
			refuse(i, err)
		}
		for _, f := range found {
			path := shown(filepath.Join(d.dir, filepath.FromSlash(f)))
			if slices.ContainsFunc(files, func(o file) bool { return o.path == path }) {
				continue
			}
			text, err := filled(readWithin(root, filepath.FromSlash(f), in.fileBytes()))
			if err != nil {
				refuse(i, fmt.Errorf("%s: %w", f, err))
				continue
			}
			files = append(files, file{path, text})
		}
	}
	return files, unread
}

// below is the files that a name means below a folder: itself, the records in a folder, or what a glob fits.
func below(root *os.Root, name string) (found []string, err error) {
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, errors.New("it lies outside the policy's folder; name it with --parts")
	}
	name = filepath.ToSlash(filepath.Clean(filepath.FromSlash(name)))
	pattern := name
	switch info, err := root.Stat(filepath.FromSlash(name)); {
	case err == nil && !info.IsDir():
		return []string{name}, nil
	case err == nil:
		pattern = escapeGlob(name) + "/*.toml"
	case !errors.Is(err, fs.ErrNotExist):
		return nil, outsideOf(err, "--parts")
	}
	if err := policy.ValidGlob(pattern); err != nil {
		return nil, err
	}
	found, err = doublestar.Glob(root.FS(), pattern, doublestar.WithFilesOnly())
	slices.Sort(found)
	if err == nil && len(found) == 0 {
		err = errors.New("no file fits this")
	}
	return found, err
}
