package intent

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Kind is what a name in an intent stands for.
type Kind uint8

// The kinds of names.
const (
	Net          Kind = iota
	Element           // by its printed path: RSH_A, XA.R3
	Block             // a sense block: the path of its amplifier
	NetOrElement      // either
	Placeable         // an element, or an instance of a subcircuit with all that is in it
)

// String is the kind as messages say it.
func (k Kind) String() string {
	return [...]string{"net", "element", "block", "net or element", "element or instance"}[k]
}

// A Reference is a name that an intent mentions and that its netlist should have.
type Reference struct {
	Kind Kind
	Name string
	Key  string // the key that mentions it: "rails.V5.operating"
	At   source.Span
}

// owners says what the name after the first component of a key is.
var owners = map[string]Kind{
	"rails": Net, "currents": Element, "switching": Net, "goals": Block, "converters": Net, "calibration": Block,
	"elements": Element, "senses": Block, "monitors": Block, "hot-plug": Net,
}

// listed says what the texts and names are that a field holds.
var listed = map[string]Kind{
	"trips.*.net": Net, "trips.*.comparator": Block,
	"rails.*.follows": Net, "currents.*.from": Net, "switching.*.between": Net, "elements.*.exclusive-with": Element,
	"variants.*.absent": Placeable, "variants.*.placed": Placeable, "variants.*.wires": Element,
	"converters.*.of": Element, "senses.*.element": Element, "senses.*.sums": Element,
	"converters.*.reference": Net,
	"surges.*.at":            Net,
	"ties.*.joins":           Net, "domains.*.nets": Net, "currents.*.includes": Element,
	"elements.*.matched-with": Element,
}

// References are the names of nets, elements and blocks that the intent mentions, in order. A name that owns several
// entries, such as a rail with two ranges, is there once.
func (i *Intent) References() (list []Reference) {
	owned := map[string]bool{}
	own := func(kind Kind, e *field.Entry, at int) {
		key := e.Path[0] + "\x00" + kind.String() + "\x00" + strings.ToLower(e.Path[at])
		if at > 1 { // the rails of a state
			key += "\x00" + strings.ToLower(e.Path[1])
		}
		if !owned[key] {
			owned[key] = true
			list = append(list, Reference{kind, e.Path[at], e.Key(), e.PathAt[at]})
		}
	}
	for e := range i.Under() {
		if kind, ok := owners[e.Path[0]]; e.Field.Key == "elements.*.placed" {
			own(Placeable, e, 1)
		} else if ok && len(e.Path) > 1 {
			own(kind, e, 1)
		}
		if e.Field.Key == "states.*.rails.*" {
			own(Net, e, 3)
		}
		if k := e.Field.Key; k == "variants.*.values.*" || k == "variants.*.parts.*" {
			own(Element, e, 3)
		}
		if kind, ok := listed[e.Field.Key]; ok {
			if e.Names == nil {
				list = append(list, Reference{kind, e.Text, e.Key(), e.ValueAt})
			}
			for n, name := range e.Names {
				list = append(list, Reference{kind, name, e.Key(), e.NamesAt[n]})
			}
		}
		for _, name := range e.FormulaNames() {
			list = append(list, Reference{Net, name, e.Key(), e.ValueAt})
		}
	}
	return list
}
