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
	"github.com/shuntwright/shuntwright/rules/policy"
)

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
