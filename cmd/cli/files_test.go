package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"
)

func utf16Text(s string, little bool) string {
	var b strings.Builder
	for _, u := range utf16.Encode([]rune("\ufeff" + s)) {
		if little {
			b.Write([]byte{byte(u), byte(u >> 8)})
		} else {
			b.Write([]byte{byte(u >> 8), byte(u)})
		}
	}
	return b.String()
}

func TestReadText(t *testing.T) {
	long := strings.Repeat("R1 a b 1k\n", lookedAt/5)
	for _, c := range []struct {
		name, in, want string
		err            error
	}{
		{"text", "R1 a b 1k\n", "R1 a b 1k\n", nil},
		{"longer than what is looked at", long, long, nil},
		{"just as long", long[:lookedAt], long[:lookedAt], nil},
		{"nothing", "", "", nil},
		{"a zero byte", "R1\x00", "", errBinary},
		{"a zero byte far on", long + "\x00", long + "\x00", nil},
		{"UTF-16, low byte first", utf16Text("R1 µ 𝛀\n", true), "R1 µ 𝛀\n", nil},
		{"UTF-16, high byte first", utf16Text("R1 µ 𝛀\n", false), "R1 µ 𝛀\n", nil},
		{"UTF-16 without its mark", utf16Text("R1", true)[2:], "", errBinary},
	} {
		got, err := readText(strings.NewReader(c.in), 1<<20)
		if string(got) != c.want || !errors.Is(err, c.err) {
			t.Errorf("%s: got %.40q, %v", c.name, got, err)
		}
	}
}

func TestReadTextIsBounded(t *testing.T) {
	long := strings.Repeat("x", 3*lookedAt)
	if _, err := readText(strings.NewReader(long), len(long)); err != nil {
		t.Error(err)
	}
	if _, err := readText(strings.NewReader(long), len(long)-1); err == nil {
		t.Error("a text that is too long is read")
	}
}

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
