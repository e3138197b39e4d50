package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/shuntwright/shuntwright/parse/field"
)

// shapes explains what the column "shape" says, for the help of commands that print fields.
const shapes = `The shape of a field says what its value means:

  value      an uncertain number: "5 kohm +- 20 %", "36 V .. 58 V", "5 V exact"
  allowed    a permitted range, whose ends may name pins or nets: "ground .. supply"
  at most    a largest magnitude that is guaranteed; or the range that it stays in
  at least   a smallest value that is guaranteed
  typical    a value that is not guaranteed: a verdict that rests on it is never better than review
  level      a formula over pins or nets: "supply - 90 mV"
  points     a list of pairs [x, y], or one quantity that holds everywhere
  goal       a largest value that is required
  fault      a quantity and how long it lasts: "90 A for 20 us"
  word       one of the words that are listed
  text, names, flag, count, date: what they are called`

// fieldsText lists fields: key and example as they stand in a file, shape, unit and meaning.
func fieldsText(out io.Writer, list []field.Field) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i := range list {
		f := &list[i]
		doc := f.Doc
		if len(f.Words) > 1 {
			doc += ": " + strings.Join(f.Words, ", ")
		}
		if f.MayBe {
			doc += "; may be " + strings.TrimSuffix(f.Example(), `"`) + ` typical"`
		}
		fmt.Fprintf(w, "%s = %s\t%s\t%s\t%s\n", shownKey(f.Key), f.Example(), f.Shape, f.Units(), doc)
	}
	return w.Flush()
}

// shownKey is a key with a word in place of the names that stand in it.
func shownKey(key string) string { return strings.ReplaceAll(key, "*", "NAME") }
