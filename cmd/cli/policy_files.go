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

// policyFiles reads the files of a kind that a policy names, which set holds. They lie in its folder: whoever wrote it may be a
// stranger.
func policyFiles(set *source.Set, d decided, kind belonging, most int) (files []file, unread []report.Unread) {
	names, at := d.named(kind)
	if len(names) == 0 {
		return nil, nil
	}
	refuse := func(i int, err error) {
		p := set.Place(at[i])
		unread = append(unread, report.Unread{Path: p.Path, Line: p.Line, Column: p.Column, Message: fmt.Sprintf("%s %q: %v", kind.folder, names[i], err)})
	}
	root, err := os.OpenRoot(d.dir)
	if err != nil {
		refuse(0, folderRefusal(err))
		return nil, unread
	}
	defer root.Close()
	for i, name := range names {
		found, err := below(root, name, kind)
		if err != nil {
			refuse(i, err)
		}
		for _, f := range found {
			path := shown(filepath.Join(d.dir, filepath.FromSlash(f)))
			if slices.ContainsFunc(files, func(o file) bool { return o.path == path }) {
				continue
			}
			text, err := filled(readWithin(root, filepath.FromSlash(f), most))
			if err != nil {
				refuse(i, fmt.Errorf("%s: %w", f, err))
				continue
			}
			files = append(files, file{path, text})
		}
	}
	return files, unread
}

// named are the files of a kind that the policy names, and where.
func (d decided) named(kind belonging) (names []string, at []source.Span) {
	if kind == houseFiles {
		return d.House()
	}
	return d.Parts()
}

// below is the files that a name means below a folder: itself, those of the kind in a folder, or what a glob fits.
func below(root *os.Root, name string, kind belonging) (found []string, err error) {
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, errors.New("it lies outside the policy's folder; name it with " + kind.flag)
	}
	name = filepath.ToSlash(filepath.Clean(filepath.FromSlash(name)))
	pattern := name
	switch info, err := root.Stat(filepath.FromSlash(name)); {
	case err == nil && !info.IsDir():
		return []string{name}, nil
	case err == nil:
		pattern = escapeGlob(name) + "/*" + kind.ending
	case !errors.Is(err, fs.ErrNotExist):
		return nil, outsideOf(err, kind.flag)
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
