package cli

import (
	"errors"
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
		{"UTF-16 without its mark, low byte first", utf16Text("R1 µ 1k\n", true)[2:], "R1 µ 1k\n", nil},
		{"UTF-16 without its mark, high byte first", utf16Text("R1 µ 1k\n", false)[2:], "R1 µ 1k\n", nil},
		{"two letters and zeros", "R\x001\x00", "", errBinary},
		{"zeros here and there", "R1\x00 a b 1k\x00", "", errBinary},
		{"UTF-8 with its mark", "\ufeffR1", "\ufeffR1", nil},
		{"Latin-1", "* 5 \xb1 1 \xb5F\n", "* 5 ± 1 µF\n", nil},
		{"Latin-1 among UTF-8", "* Ω \xb5\n", "* Ω µ\n", nil},
		{"marks that look like blanks", "R1 a\u00a0b\u200b1k\u202f\x1a", "R1 a b 1k ", nil},
		{"half a letter at the end", "* \xc2", "* Â", nil},
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
