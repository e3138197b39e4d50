package cli

import (
	"errors"
	"fmt"
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
		named, lost := policyFiles(set, d, recordFiles, in.fileBytes())
		for _, f := range named {
			if !slices.ContainsFunc(files, func(o file) bool { return o.path == f.path }) {
				files = append(files, f)
			}
		}
		return files, append(unread, lost...)
	}
	paths, unread := expandAll(in.parts, recordFiles)
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

// A kind of files that belong to a netlist: the folder beside it and the ending by which they are found, the flag that names
// them instead, and what they are called.
type belonging struct{ folder, ending, flag, name string }

var recordFiles = belonging{"parts", ".toml", "--parts", "part records"}

// expandAll is the files that flags name, each once.
func expandAll(named []string, kind belonging) (paths []string, unread []report.Unread) {
	for _, p := range named {
		found, err := expand(p, kind)
		if err != nil {
			unread = append(unread, report.Unread{Path: shown(p), Message: err.Error()})
		}
		for _, f := range found {
			if f = filepath.Clean(f); !slices.Contains(paths, f) {
				paths = append(paths, f)
			}
		}
	}
	return paths, unread
}

// expand is the files that one flag names: itself, those of the kind in a folder, or what a glob fits.
func expand(path string, kind belonging) ([]string, error) {
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.IsDir():
		return []string{path}, nil
	case err == nil:
		found, err := filepath.Glob(filepath.Join(escapeGlob(path), "*"+kind.ending))
		if err == nil && len(found) == 0 {
			err = fmt.Errorf("the folder holds no %s file", kind.ending)
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

// besideRecords are the records beside a netlist; there need not be any.
func besideRecords(dir string, most int) (files []file, unread []report.Unread) {
	names, unread := beside(dir, recordFiles)
	for _, name := range names {
		path := shown(filepath.Join(dir, name))
		text, err := readBeside(dir, name, recordFiles.flag, most)
		if err != nil {
			unread = append(unread, report.Unread{Path: path, Message: err.Error()})
			continue
		}
		files = append(files, file{path, text})
	}
	return files, unread
}

// beside are the names, from the folder of a netlist on, of the files of a kind beside it.
func beside(dir string, kind belonging) (names []string, unread []report.Unread) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, []report.Unread{{Path: shown(dir), Message: folderRefusal(err).Error()}}
	}
	defer root.Close()
	if info, err := root.Stat(kind.folder); err == nil && !info.IsDir() {
		return nil, []report.Unread{{Path: shown(filepath.Join(dir, kind.folder)), Message: "this is no folder; name " + kind.name + " with " + kind.flag}}
	}
	entries, err := fs.ReadDir(root.FS(), kind.folder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, []report.Unread{{Path: shown(filepath.Join(dir, kind.folder)), Message: outsideOf(err, kind.flag).Error()}}
	}
	for _, e := range entries {
		if strings.EqualFold(filepath.Ext(e.Name()), kind.ending) {
			names = append(names, filepath.Join(kind.folder, e.Name()))
		}
	}
	return names, nil
}
