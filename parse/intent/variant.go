package intent

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// The names that no variant has, since they stand for what is judged: the drawing and every variant, or the drawing alone.
const (
	AllVariants = "all"
	Drawn       = "drawn"
)

// MostVariants is how many variants one netlist may have: each is judged by itself, and a stranger may write them.
const MostVariants = 100

// checkVariants finds what variants say of an element twice, and names that are taken.
func checkVariants(d *field.Doc) (diags []source.Diagnostic) {
	names := d.Names("variants")
	for i, name := range names {
		first := source.Span{}
		said := map[string]source.Related{} // by element in lower case
		for e := range d.Under("variants", name) {
			if first.None() {
				first = e.PathAt[1]
			}
			elements, at := e.Names, e.NamesAt
			if e.Names == nil {
				elements, at = e.Path[3:], e.PathAt[3:]
			}
			for k, element := range elements {
				key := strings.ToLower(element)
				before, twice := said[key]
				if twice && !together(e.Path[2], before.Message) {
					before.Message = "first in " + before.Message
					diags = append(diags, source.Diagnostic{At: at[k], Rule: rule, Message: fmt.Sprintf("%s: this variant says of %s already what becomes of it", e.Key(), element),
						Related: []source.Related{before}})
					continue
				}
				said[key] = source.Related{At: at[k], Message: e.Path[2]}
			}
		}
		switch {
		case slices.Contains([]string{AllVariants, Drawn}, strings.ToLower(name)):
			diags = append(diags, source.Diagnostic{At: first, Rule: rule, Message: fmt.Sprintf("%q is not the name of a variant: it stands for what is judged; name it otherwise", name)})
		case strings.ContainsAny(name, ",") || strings.TrimSpace(name) != name:
			diags = append(diags, source.Diagnostic{At: first, Rule: rule, Message: fmt.Sprintf("the name of a variant has no comma and no space at its ends: %q", source.Clip(name, 80))})
		case i == MostVariants:
			diags = append(diags, source.Diagnostic{At: first, Rule: rule, Message: fmt.Sprintf("there are more than %d variants; the rest is not judged", MostVariants)})
		}
	}
	return diags
}

// together tells that two keys may speak of one element: what places it may stand beside what says which one it is.
func together(a, b string) bool {
	return a != "absent" && b != "absent" && (a == "placed") != (b == "placed")
}
