package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A file is a text and the path that is printed for it.
type file struct {
	path string
	text []byte
}

// records reads the part record files: those that were named, or those beside the netlist, in the order of their names,
// and those that the policy names.
func (in inputs) records(set *source.Set, netlist string, d decided) (files []file, unread []report.Unread) {
	if in.parts == nil {
		files, unread = besideRecords(filepath.Dir(netlist), in.fileBytes())
		named, lost := in.policyRecords(set, d)
		for _, f := range named {
			if !slices.ContainsFunc(files, func(o file) bool { return o.path == f.path }) {
				files = append(files, f)
			}
		}
		return files, append(unread, lost...)
	}
	var paths []string
	for _, p := range in.parts {
		found, err := expand(p)
		if err != nil {
			unread = append(unread, report.Unread{Path: shown(p), Message: err.Error()})
		}
		for _, f := range found {
			f = filepath.Clean(f)
			if !slices.Contains(paths, f) {
				paths = append(paths, f)
			}
		}
	}
	for _, p := range paths {
		text, err := readNamed(p, in.fileBytes())
		if err != nil {
			unread = append(unread, report.Unread{Path: shown(p), Message: err.Error()})
			continue
		}
		files = append(files, file{shown(p), text})
	}
	return files, unread
}

// expand is the files that one --parts names: itself, the records in a folder, or what a glob fits.
func expand(path string) ([]string, error) {
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.IsDir():
		return []string{path}, nil
	case err == nil:
		found, err := filepath.Glob(filepath.Join(escapeGlob(path), "*.toml"))
		if err == nil && len(found) == 0 {
			err = errors.New("the folder holds no .toml file")
		}
		return found, err
	case !strings.ContainsAny(path, "*?["):
		return []string{path}, nil // reading it says what is wrong
	}
	found, err := filepath.Glob(path)
	if err == nil && len(found) == 0 {
		err = errors.New("no file fits this pattern")
	}
	return found, err
}

// escapeGlob makes a folder's name stand for itself in a pattern.
func escapeGlob(path string) string {
	if os.PathSeparator == '\\' {
		return path
	}
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(path)
}

// besideRecords are the records in the folder "parts" beside a netlist; there need not be any.
func besideRecords(dir string, most int) (files []file, unread []report.Unread) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, []report.Unread{{Path: shown(dir), Message: folderRefusal(err).Error()}}
	}
	defer root.Close()
	if info, err := root.Stat("parts"); err == nil && !info.IsDir() {
		return nil, []report.Unread{{Path: shown(filepath.Join(dir, "parts")), Message: "this is no folder; name part records with --parts"}}
	}
	entries, err := fs.ReadDir(root.FS(), "parts")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, []report.Unread{{Path: shown(filepath.Join(dir, "parts")), Message: outsideOf(err, "--parts").Error()}}
	}
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".toml" {
			continue
		}
		path := shown(filepath.Join(dir, "parts", e.Name()))
		text, err := readBeside(dir, filepath.Join("parts", e.Name()), "--parts", most)
		if err != nil {
			unread = append(unread, report.Unread{Path: path, Message: err.Error()})
			continue
		}
		files = append(files, file{path, text})
	}
	return files, unread
}
