package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// includes opens what one netlist includes, from inside one folder only. The netlist may be a stranger's: nothing that
// lies elsewhere is opened, whatever path or link leads there.
type includes struct {
	root    *os.Root
	dir     string // the folder, as given
	abs     string
	widened bool // by --include-root
	most    int  // bytes of one file
	set     *source.Set
	at      map[string]string // printed path of a file -> its path below the folder
}

func (in inputs) includes(netlist string) (*includes, error) {
	dir := in.includeRoot
	if dir == "" {
		dir = filepath.Dir(netlist)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("its folder %s cannot be opened: %w", shown(dir), folderRefusal(err))
	}
	i := &includes{root: root, dir: dir, widened: in.includeRoot != "", most: in.fileBytes(), at: map[string]string{}}
	if i.abs, err = filepath.Abs(dir); err == nil {
		err = i.start(netlist)
	}
	if err != nil {
		root.Close()
		return nil, err
	}
	return i, nil
}

// start places the netlist itself below the folder.
func (i *includes) start(netlist string) error {
	abs, err := filepath.Abs(netlist)
	if err != nil {
		return err
	}
	rel, err := filepath.Rel(i.abs, abs)
	if err != nil || !filepath.IsLocal(rel) {
		return fmt.Errorf("it does not lie in the folder of --include-root %s", i.dir)
	}
	i.at[shown(netlist)] = rel
	return nil
}

func (i *includes) close() { i.root.Close() }

// include reads a file named in another; a relative path counts from that other file's folder.
func (i *includes) include(path string, from source.FileID) (text []byte, show string, err error) {
	path = filepath.FromSlash(strings.ReplaceAll(path, `\`, "/"))
	if path == "" {
		return nil, "", errMissing
	}
	rel := filepath.Join(filepath.Dir(i.at[i.set.File(from).Path]), path)
	if filepath.IsAbs(path) {
		if rel, err = filepath.Rel(i.abs, filepath.Clean(path)); err != nil {
			rel = ".."
		}
	}
	err = errOutside
	if filepath.IsLocal(rel) {
		text, err = readWithin(i.root, rel, i.most)
	}
	switch {
	case errors.Is(err, errOutside) && i.widened:
		err = fmt.Errorf("it lies outside %s, the folder of --include-root", shown(i.dir))
	case errors.Is(err, errOutside):
		err = fmt.Errorf("%w; --include-root FOLDER widens it", errOutside)
	}
	if err != nil {
		return nil, "", err
	}
	show = shown(filepath.Join(i.dir, rel))
	i.at[show] = rel
	return text, show, nil
}
