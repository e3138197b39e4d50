package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// lookedAt is how many bytes of a file tell whether it is text.
const lookedAt = 8 << 10

// What is wrong with a file, each with what to do about it.
var (
	errMissing = errors.New("there is no such file; check the name and the folder")
	errFolder  = errors.New("this is a folder; name a file in it")
	errDenied  = errors.New("the file may not be read; check its permissions")
	errDevice  = errors.New("this is no plain file; save its text to one")
	errBinary  = errors.New("the file is binary; export it as text")
	errEmpty   = errors.New("the file is empty; write it out again")
	errLinked  = errors.New("this is a link out of its folder; name the file itself")
	errOutside = errors.New("it lies outside the netlist's folder")
)

// refusal puts what the system says about a file in our words; it never holds a path or text of the file.
func refusal(err error) error {
	var p *fs.PathError
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrNotExist):
		return errMissing
	case errors.Is(err, fs.ErrPermission):
		return errDenied
	case errors.As(err, &p) && strings.Contains(p.Err.Error(), "escapes"):
		return errOutside
	}
	return bare(err)
}

// folderRefusal is refusal for a folder that should hold something.
func folderRefusal(err error) error {
	if err = refusal(err); errors.Is(err, errMissing) {
		return errors.New("there is no such folder")
	}
	return err
}

// bare is the reason without the path around it, which the line names already.
func bare(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// readNamed reads a file that the person named.
func readNamed(path string, most int) ([]byte, error) {
	if info, err := os.Lstat(path); err == nil && info.Mode()&os.ModeSymlink != 0 {
		return readLinked(path, most)
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, refusal(err)
	}
	if info.IsDir() {
		return nil, errFolder
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, refusal(err)
	}
	defer f.Close()
	return filled(readText(f, most))
}

// readLinked reads a link that was named, perhaps by a pattern over a stranger's files: not out of its own folder.
func readLinked(path string, most int) ([]byte, error) {
	root, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return nil, refusal(err)
	}
	defer root.Close()
	text, err := filled(readWithin(root, filepath.Base(path), most))
	if errors.Is(err, errOutside) {
		return nil, errLinked
	}
	return text, err
}

// filled refuses a text that says nothing.
func filled(text []byte, err error) ([]byte, error) {
	if err == nil && len(bytes.TrimSpace(bytes.TrimPrefix(text, []byte("\ufeff")))) == 0 {
		return nil, errEmpty
	}
	return text, err
}

// readBeside reads a file that nobody named but that is looked for beside the netlist: nil when it is not there. It is
// not followed out of the folder, since whoever wrote the netlist may have put a link there; flag names it for sure.
func readBeside(dir, name, flag string, most int) ([]byte, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, refusal(err)
	}
	defer root.Close()
	text, err := filled(readWithin(root, name, most))
	if errors.Is(err, errMissing) {
		if _, dangling := root.Lstat(name); dangling != nil {
			return nil, nil
		}
	}
	return text, outsideOf(err, flag)
}

// outsideOf adds the flag that lets a file lie outside.
func outsideOf(err error, flag string) error {
	if err = refusal(err); errors.Is(err, errOutside) && flag != "" {
		return fmt.Errorf("%w; name it with %s", err, flag)
	}
	return err
}

// readWithin reads a plain file below a folder, wherever links may lead.
func readWithin(root *os.Root, name string, most int) ([]byte, error) {
	info, err := root.Stat(name)
	switch {
	case err != nil:
		return nil, refusal(err)
	case info.IsDir():
		return nil, errFolder
	case !info.Mode().IsRegular():
		return nil, errDevice
	}
	f, err := root.Open(name)
	if err != nil {
		return nil, refusal(err)
	}
	defer f.Close()
	return readText(f, most)
}

// shown is a path as it is printed: relative to the working folder where it lies below it, else as given.
func shown(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.ToSlash(path)
	}
	here, err := os.Getwd()
	if err != nil {
		return filepath.ToSlash(path)
	}
	rel, err := filepath.Rel(here, abs)
	if err != nil || !filepath.IsLocal(rel) {
		return filepath.ToSlash(path)
	}
	return filepath.ToSlash(rel)
}
