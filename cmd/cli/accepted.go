package cli

import (
	"errors"
	"path/filepath"
	"slices"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/policy"
)

const acceptedName = "accepted.toml"

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

// acceptances reads what stands in comment cards and files for a netlist; others are those for other netlists.
func (in inputs) acceptances(set *source.Set, netlist string, pragmas []source.Span, d decided) (list, others []policy.Acceptance, diags []source.Diagnostic, unread []report.Unread) {
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
			} else {
				others = append(others, a)
			}
		}
	}
	return list, others, diags, unread
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
