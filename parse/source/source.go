// Package source owns the bytes that every other package points into. Positions are small; lines and columns are
// worked out when somebody prints one.
package source

import (
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

// A FileID is one inclusion of a file in a Set.
type FileID uint32

// A Pos is a byte in one inclusion of a file. A file included twice is two entries of the Set sharing one text.
type Pos struct {
	File FileID
	Byte uint32
}

// A Span covers raw bytes, continuation marks included, so columns stay true across "+" lines. The zero Span means
// "no place".
type Span struct {
	Pos
	Len uint32
}

// None tells that the span names no place.
func (s Span) None() bool { return s == Span{} }

// A File is one inclusion of one file.
type File struct {
	Path  string // as it is printed: relative to the working folder where it lies below it
	Text  []byte
	By    Span // the card that included it; none for a file named by the user
	lines func() []uint32
}

// A Set holds every file that was read. Entry 0 stands for "no file", so that the zero Span names no place.
type Set struct{ files []*File }

// NewSet returns an empty set.
func NewSet() *Set {
	s := &Set{}
	s.Add("", nil, Span{})
	return s
}

// Add registers a text under the path that is printed for it.
func (s *Set) Add(path string, text []byte, by Span) FileID {
	f := &File{Path: path, Text: text, By: by}
	f.lines = sync.OnceValue(f.cut)
	s.files = append(s.files, f)
	return FileID(len(s.files) - 1)
}

// cut finds where each line starts. That is asked for only when something is printed.
func (f *File) cut() []uint32 {
	lines := []uint32{0}
	for i, b := range f.Text {
		if b == '\n' || b == '\r' && (i+1 == len(f.Text) || f.Text[i+1] != '\n') {
			lines = append(lines, uint32(i+1))
		}
	}
	return lines
}

// Paths are the paths of all files of the set, included ones too, as they are printed.
func (s *Set) Paths() (paths []string) {
	for _, f := range s.files[1:] {
		paths = append(paths, f.Path)
	}
	return paths
}

// File is one entry of the set.
func (s *Set) File(id FileID) *File { return s.files[id] }

// Text is what a span covers.
func (s *Set) Text(sp Span) string {
	if sp.None() {
		return ""
	}
	return string(s.files[sp.File].Text[sp.Byte : sp.Byte+sp.Len])
}

// A Place is a position as people and editors count: from 1, columns in code points, ends exclusive.
type Place struct {
	Path            string
	Line, Column    int
	EndLine, EndCol int
}

// Place works out where a span begins and ends.
func (s *Set) Place(sp Span) Place {
	if sp.None() {
		return Place{}
	}
	f := s.files[sp.File]
	p := Place{Path: f.Path}
	p.Line, p.Column = f.lineColumn(sp.Byte)
	p.EndLine, p.EndCol = f.lineColumn(sp.Byte + sp.Len)
	return p
}

func (f *File) lineColumn(at uint32) (line, column int) {
	lines := f.lines()
	i, found := slices.BinarySearch(lines, at)
	if !found {
		i--
	}
	return i + 1, utf8.RuneCount(f.Text[lines[i]:at]) + 1
}

// Chain is the include cards that lead to a file, innermost first.
func (s *Set) Chain(id FileID) (chain []Span) {
	for by := s.files[id].By; !by.None(); by = s.files[by.File].By {
		chain = append(chain, by)
	}
	return chain
}

// A Diagnostic is a trouble with an input. It comes with a partial result, never instead of one. Rule is the stable id
// under which it is reported (netlist-card, intent-field, ...).
type Diagnostic struct {
	At      Span
	Rule    string
	Message string // lower case, names the thing; ends without a full stop
	Near    string // the nearest known name, if one is near: printed as `did you mean "..."?`
	Related []Related
}

// A Related place belongs to a diagnostic or a result: the call that leads there, the twin it collides with.
type Related struct {
	At      Span
	Message string
}

// Text is the message with its suggestion.
func (d Diagnostic) Text() string {
	if d.Near == "" {
		return d.Message
	}
	return d.Message + "; did you mean " + quote(d.Near) + "?"
}

func quote(s string) string { return `"` + strings.ReplaceAll(s, `"`, `'`) + `"` }
