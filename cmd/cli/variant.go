package cli

import (
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
)

// assembled is what of a design is judged: the drawing, and which variants.
func (in inputs) assembled(d *design.Design) (drawn bool, variants []design.Variant, err error) {
	if in.variants == "" || strings.EqualFold(in.variants, intent.AllVariants) {
		return true, d.Variants(), nil
	}
	for name := range strings.SplitSeq(in.variants, ",") {
		if name = strings.TrimSpace(name); strings.EqualFold(name, intent.Drawn) {
			drawn = true
			continue
		}
		v, ok := d.Variant(name)
		if !ok {
			return false, nil, noVariant(d, name)
		}
		variants = append(variants, v)
	}
	return drawn, variants, nil
}

// one is a design as the one variant that was asked for.
func (in inputs) one(d *design.Design) (*design.Design, error) {
	if in.variants == "" || strings.EqualFold(in.variants, intent.Drawn) {
		return d, nil
	}
	v, ok := d.Variant(in.variants)
	if !ok {
		return nil, noVariant(d, in.variants)
	}
	return d.With(v.Changes...), nil
}

func noVariant(d *design.Design, name string) error {
	var known []string
	for _, v := range d.Variants() {
		known = append(known, v.Name)
	}
	if known == nil {
		return fmt.Errorf("no variant %q; intent declares none", name)
	}
	return unknown("variant", name, append(known, intent.Drawn))
}

// judgedAs are remarks on what of a netlist was judged, where that is not simply all that it draws.
func judgedAs(path string, d *design.Design, drawn bool, variants []design.Variant) (notes []string) {
	if list := d.Unplaced(); len(list) > 0 {
		text := strings.Join(list[:min(len(list), 8)], ", ")
		if more := len(list) - 8; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		notes = append(notes, fmt.Sprintf("%s: note: not placed: %s", path, text))
	}
	if len(d.Variants()) == 0 {
		return notes
	}
	var as []string
	if drawn {
		as = append(as, "drawn")
	}
	for _, v := range variants {
		as = append(as, "variant "+v.Name)
	}
	return append(notes, fmt.Sprintf("%s: note: judged as %s", path, strings.Join(as, ", ")))
}
