package cli

import (
	"bytes"
	"encoding/binary"
	"io"
	"io/fs"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse"
)

// readText reads a text of at most so many bytes: UTF-8, UTF-16 with or without its mark, or Latin-1.
func readText(r io.Reader, most int) ([]byte, error) {
	tooLong := &parse.LimitError{Name: parse.FileBytes, Limit: most, What: "the file is larger than"}
	size := sizeOf(r)
	if size > most {
		return nil, tooLong
	}
	text := bytes.NewBuffer(make([]byte, 0, size+bytes.MinRead+1))
	if _, err := io.CopyN(text, r, lookedAt); err != nil && err != io.EOF {
		return nil, refusal(err)
	}
	order := wide(text.Bytes())
	if order == nil && bytes.IndexByte(text.Bytes(), 0) >= 0 {
		return nil, errBinary
	}
	if _, err := text.ReadFrom(io.LimitReader(r, max(0, int64(most)-int64(text.Len()))+1)); err != nil {
		return nil, refusal(err)
	}
	switch {
	case text.Len() > most:
		return nil, tooLong
	case order != nil:
		return blanks(narrow(text.Bytes(), order)), nil
	}
	return blanks(oneByte(text.Bytes())), nil
}

// blanks makes plain blanks of the marks that look like one, or like nothing, and get into texts that were copied from
// documents; a name with one would look like another. An old end-of-file mark is dropped.
func blanks(text []byte) []byte {
	text = bytes.TrimRight(text, "\x1a")
	for _, mark := range []string{"\u00a0", "\u2007", "\u202f", "\u200b", "\u2060"} {
		if bytes.Contains(text, []byte(mark)) {
			text = bytes.ReplaceAll(text, []byte(mark), []byte(" "))
		}
	}
	return text
}

// sizeOf is how long a file says it is, so that it is read into one piece of memory.
func sizeOf(r io.Reader) int {
	f, ok := r.(fs.File)
	if !ok {
		return 0
	}
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return 0
	}
	return int(info.Size())
}

// wide is the byte order of a text in UTF-16, which begins with its mark or has a zero in every second byte; nil for any
// other.
func wide(head []byte) binary.ByteOrder {
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		return binary.LittleEndian
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return binary.BigEndian
	}
	var zeros [2]int
	for i, b := range head[:len(head)&^1] {
		if b == 0 {
			zeros[i&1]++
		}
	}
	switch units := len(head) / 2; {
	case units > 3 && zeros[0] == 0 && zeros[1] > units*3/4:
		return binary.LittleEndian
	case units > 3 && zeros[1] == 0 && zeros[0] > units*3/4:
		return binary.BigEndian
	}
	return nil
}

func narrow(text []byte, order binary.ByteOrder) []byte {
	units := make([]uint16, len(text)/2)
	for i := range units {
		units[i] = order.Uint16(text[2*i:])
	}
	return bytes.TrimPrefix([]byte(string(utf16.Decode(units))), []byte("\ufeff"))
}

// oneByte takes each byte that is no UTF-8 for the letter that it is in Latin-1.
func oneByte(text []byte) []byte {
	if utf8.Valid(text) {
		return text
	}
	out := make([]byte, 0, len(text)+len(text)/8)
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if r == utf8.RuneError && n == 1 {
			r = rune(text[0])
		}
		out = utf8.AppendRune(out, r)
		text = text[n:]
	}
	return out
}
