package cli

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// What is said about a file names no path beside the one the person gave.
func TestRefusalsHoldNoPath(t *testing.T) {
	dir := t.TempDir()
	if err := os.Symlink(filepath.Join(dir, "..", "secret"), filepath.Join(dir, "link")); err != nil {
		t.Skip(err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	for name, want := range map[string]error{"link": errOutside, "lost": errMissing, ".": errFolder} {
		if _, err := readWithin(root, name, 1<<20); !errors.Is(err, want) {
			t.Errorf("%s: got %v, want %v", name, err, want)
		}
	}
}

func TestUnusable(t *testing.T) {
	for text, want := range map[string]bool{
		"":                             false,
		"# only words\n":               false,
		"\ufeffformat = 1\n":           false,
		"format = 2\n":                 true,
		"format = \"1\"\n":             true,
		"[a]\nformat = 2\n":            false,
		"unknown = true\n":             false,
		"[a\n":                         true,
		"a = 5 V\n":                    true,
		"a = \"5 V\"\nb = [1, 2\n":     true,
		"format = 1\n[rails]\nV+ = 1 ": true,
	} {
		if got := unusable([]byte(text)); got != want {
			t.Errorf("%q: got %v", text, got)
		}
	}
}

func TestShown(t *testing.T) {
	t.Chdir(t.TempDir())
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for in, want := range map[string]string{
		"a.cir":                           "a.cir",
		"./b/../a.cir":                    "a.cir",
		filepath.Join(here, "c", "a.cir"): "c/a.cir",
		"../a.cir":                        "../a.cir",
	} {
		if got := shown(in); got != want {
			t.Errorf("%s: got %s, want %s", in, got, want)
		}
	}
}

// A file that may not be read is refused by whoever names it and wherever it is looked for.
func TestUnreadable(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "shut"), []byte("R1 a b 1\n"), 0); err != nil {
		t.Fatal(err)
	}
	if _, err := os.ReadFile(filepath.Join(dir, "shut")); err == nil {
		t.Skip("whoever runs this may read everything")
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	_, named := readNamed(filepath.Join(dir, "shut"), 1<<20)
	_, within := readWithin(root, "shut", 1<<20)
	_, beside := readBeside(dir, "shut", "--intent", 1<<20)
	for _, err := range []error{named, within, beside} {
		if !errors.Is(err, errDenied) {
			t.Errorf("got %v, want %v", err, errDenied)
		}
	}
}
