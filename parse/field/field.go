// Package field reads strict TOML against lists of known fields. A list is data without logic: besides reading it
// answers completion, explanations, blanks in drafts and a published schema. Every entry keeps its exact place.
package field

import (
	"strings"
	"time"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Field is one known key.
type Field struct {
	Key   string // "rails.*.operating": a star stands for a name
	Shape Shape
	Unit  quantity.Unit // of the value; of the y of points
	XUnit quantity.Unit // of the x of points; a Level has points only where this is not Ratio
	Words []string      // the alternatives of a Word
	Doc   string        // what it says, in one line
	Roles []string      // the roles of parts that have it; none: every part
	MayBe bool          // the value may be said to be only typical: "6.2 kohm typical"
	Says  string        // an example of a Text or of one of the Names, where any text will not do; of a quantity as it is written, a list in brackets
}

// A Table is what a table may hold: fields, and arrays of tables by their key. A key may hold stars.
type Table struct {
	Fields []Field
	Arrays map[string]*Table
}

// A Step is a point of a Level: the formula that holds at X.
type Step struct {
	X quantity.Written
	Y *quantity.Formula
}

// An Entry is one value as written. Which of its values is set follows from the shape of its field.
type Entry struct {
	Field    *Field
	Path     []string              // the components of the key, with names as written
	Text     string                // the value as written: of a text what it says, of all else its TOML
	Names    []string              // Names, Margins
	Written  quantity.Written      // Value, AtMost, AtLeast, Typical, Goal, Fault, Points given as one quantity
	Duration quantity.Written      // Fault, in seconds
	Limits   quantity.Limits       // Allowed
	Formula  *quantity.Formula     // Level given as one formula
	Points   [][2]quantity.Written // Points: x in the XUnit and y in the Unit of the field, x never falling
	Steps    []Step                // Level given as a list
	Typical  bool                  // the text says that the value is only typical
	Flag     bool                  // Flag
	Count    int                   // Count
	Day      time.Time             // Date: its beginning in UTC
	At       source.Span           // the key, as far as it stands beside its value
	ValueAt  source.Span           // the value, quotes included
	PathAt   []source.Span         // each component of Path
	NamesAt  []source.Span         // each of Names
}

// Key is the path joined with dots; names that TOML would not read bare are quoted.
func (e *Entry) Key() string { return JoinKey(e.Path) }

// JoinKey joins the components of a key as it would be written, odd names quoted.
func JoinKey(path []string) string {
	var b strings.Builder
	for i, p := range path {
		if i > 0 {
			b.WriteByte('.')
		}
		b.WriteString(quoteKey(p))
	}
	return b.String()
}

// quoteKey writes one component of a key as TOML reads it.
func quoteKey(name string) string {
	bare := name != ""
	for i := range len(name) {
		bare = bare && isBare(name[i])
	}
	if bare {
		return name
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\t", `\t`, "\r", `\r`).Replace(name) + `"`
}

func isBare(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_'
}
