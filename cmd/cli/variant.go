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

// one is a design as the one variant that was asked for, and the remarks on it.
func (in inputs) one(path string, d *design.Design) (*design.Design, []string, error) {
	if in.variants == "" || strings.EqualFold(in.variants, intent.Drawn) {
		return d, judgedAs(path, d, "bounded", true, nil), nil
	}
	v, ok := d.Variant(in.variants)
	if !ok {
		return nil, nil, noVariant(d, in.variants)
	}
	return d.As(v), judgedAs(path, d, "bounded", false, []design.Variant{v}), nil
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

// judgedAs are remarks on what of a netlist was done something to, where that is not simply all that it draws.
func judgedAs(path string, d *design.Design, done string, drawn bool, variants []design.Variant) (notes []string) {
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
	names := names(d, drawn, variants)
	for i, name := range names {
		if !drawn || i > 0 {
			names[i] = "variant " + name
		}
	}
	return append(notes, fmt.Sprintf("%s: note: %s as %s", path, done, strings.Join(names, ", ")))
}

// names are those of what was judged, the drawing first; nil where there are no variants.
func names(d *design.Design, drawn bool, variants []design.Variant) (list []string) {
	if len(d.Variants()) == 0 {
		return nil
	}
	if drawn {
		list = append(list, intent.Drawn)
	}
	for _, v := range variants {
		list = append(list, v.Name)
	}
	return list
}
