// Package design binds circuit, part records and intent into the one immutable thing that everything under rules
// looks at. With lays changes over it without copying.
package design

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Design is immutable and may be used by many goroutines.
type Design struct {
	Src     *source.Set
	Circuit *circuit.Circuit
	Parts   *part.Library
	Intent  *intent.Intent

	over     []Change
	index    map[circuit.ID][]int    // of over, by element; nil where there are few
	unplaced map[circuit.ID]bool     // drawn and not placed
	inside   map[string][]circuit.ID // the elements of instances that intent says are placed or not, by path in lower case
	variants []Variant
	varied   bool                         // it is one of them
	records  *sync.Map                    // role and name of a subcircuit or model -> *part.Record, nil where none matches
	sources  map[circuit.Net][]circuit.ID // the V cards on a net: a rail with many thousand elements is asked for often
}

// A Regime is which promises count.
type Regime uint8

const (
	Operating Regime = iota // every state in which the circuit works
	Survival                // declared events included
)

func (r Regime) String() string { return [...]string{"operating", "survival"}[r] }

// Bind puts cards, records and intent (nil where there is no file) together. It takes in what the netlist's comment cards
// say of intent, flattens the cards (one whose subcircuit has a record stays one element), and reports what each step
// finds and where the inputs do not fit: names of intent that the netlist does not have (intent-name), netlist values
// outside declared ranges (intent-disagreement), records that tie (record-field). The netlist's context ends it early.
func Bind(set *source.Set, cards *parse.Netlist, lib *part.Library, in *intent.Intent) (*Design, []source.Diagnostic) {
	in, diags := intent.ReadPragmas(set, in, cards.Pragmas)
	flat, found := circuit.Elaborate(cards, func(subckt string) bool {
		r, _ := lib.Match(subckt)
		return r != nil
	})
	diags = append(diags, found...)
	d := &Design{Src: set, Circuit: flat, Parts: lib, Intent: in, records: &sync.Map{}, sources: map[circuit.Net][]circuit.ID{}}
	if cards.Stopped() != nil { // what is there is no whole to compare with
		return d, diags
	}
	d.inside = d.Circuit.Within(d.namedInstances())
	d.unplaced = d.leaveOut()
	for e := range d.Elements() {
		if e.raw().Kind == 'V' && e.Pin(0) != e.Pin(1) {
			for i := range 2 {
				d.sources[e.Pin(i)] = append(d.sources[e.Pin(i)], e.ID)
			}
		}
	}
	if r, _ := lib.Match(cards.TitleCalls); r != nil && cards.TitleCalls != "" {
		diags = append(diags, cards.TitleSuspected())
	}
	diags = append(diags, d.checkParts()...)
	diags = append(diags, d.checkNames()...)
	diags = append(diags, d.readVariants()...)
	diags = append(diags, d.checkSources()...)
	diags = append(diags, d.checkCurrents()...)
	return d, diags
}

// A recordKey is what a record is looked up by: the role it must have, "" for every one, and a name in lower case.
type recordKey struct{ role, name string }

func (d *Design) record(name, role string) *part.Record {
	key := recordKey{role, strings.ToLower(name)}
	if r, ok := d.records.Load(key); ok {
		return r.(*part.Record)
	}
	r, _ := d.match(name, role)
	d.records.Store(key, r)
	return r
}

func (d *Design) match(name, role string) (*part.Record, *source.Diagnostic) {
	if role == "" {
		return d.Parts.Match(name)
	}
	return d.Parts.MatchRole(name, role)
}

// checkParts reports each name of a subcircuit or model whose record is ambiguous, and each subcircuit whose nets or port
// names contradict the record.
func (d *Design) checkParts() (diags []source.Diagnostic) {
	if len(d.Parts.Records()) == 0 {
		return nil
	}
	seen := map[recordKey]bool{}
	for e := range d.Elements() {
		role, ok := recordRole(e.Kind())
		if !ok {
			continue
		}
		key := recordKey{role, strings.ToLower(e.Ref())}
		if seen[key] {
			continue
		}
		seen[key] = true
		r, tie := d.match(e.Ref(), role)
		if tie != nil {
			diags = append(diags, *tie)
		}
		if r == nil || e.Kind() != 'X' {
			continue
		}
		if want := len(r.Pins()); want > 0 && want != e.Pins() {
			diags = append(diags, source.Diagnostic{At: e.Card(), Rule: "netlist-subcircuit",
				Message: fmt.Sprintf("%s has %d nets, the record %s has %d pins (%s)", e.Path(), e.Pins(), r.Name(), want, strings.Join(r.Pins(), ", ")),
				Related: []source.Related{{At: r.At(), Message: "the record"}}})
		}
		if ports := d.Circuit.Ports(e.Ref()); ports != nil {
			diags = append(diags, d.checkPorts(e, r, ports)...)
		}
	}
	return diags
}

// checkPorts compares a subcircuit's port names, where they are role names, with the record's pin order.
func (d *Design) checkPorts(e Element, r *part.Record, ports []string) (diags []source.Diagnostic) {
	for i, p := range ports {
		k := slices.IndexFunc(r.Pins(), func(role string) bool { return strings.EqualFold(role, p) })
		if k >= 0 && k != i {
			diags = append(diags, source.Diagnostic{At: e.Card(), Rule: "netlist-subcircuit",
				Message: fmt.Sprintf("port %d of .subckt %s is %s, the record %s has that pin at %d: the port names are followed", i+1, e.Ref(), p, r.Name(), k+1),
				Related: []source.Related{{At: r.At(), Message: "the record"}}})
		}
	}
	return diags
}

// checkNames reports each name of intent that stands for nothing in the netlist.
func (d *Design) checkNames() (diags []source.Diagnostic) {
	nets := func(yield func(string) bool) {
		for _, name := range d.Circuit.AllNets() {
			if !yield(name) {
				return
			}
		}
	}
	elements := func(yield func(string) bool) {
		for e := range d.Elements() {
			if !yield(e.Path()) {
				return
			}
		}
	}
	blocks := func(yield func(string) bool) {
		for e := range d.Elements() {
			if e.raw().Kind == 'X' && e.Record() != nil && !yield(e.Path()) { // a diode with a record is no block
				return
			}
		}
	}
	hints := source.Hints{Left: 2_000_000}
	for _, ref := range d.Intent.References() {
		what, known := "", (func(func(string) bool))(nil)
		switch name := ref.Name; ref.Kind {
		case intent.Net:
			if _, ok := d.Net(name); !ok {
				what, known = "net", nets
			}
		case intent.Element:
			if _, ok := d.Find(name); !ok {
				what, known = "element", elements
			}
		case intent.Block:
			amp, _, _ := strings.Cut(name, ":")
			if e, ok := d.Find(amp); !ok || e.raw().Kind != 'X' || e.Record() == nil { // one that is not placed is there in another variant
				what, known = "amplifier with a part record", blocks
			}
		case intent.Placeable:
			if len(d.placeable(name)) == 0 {
				what, known = "element or instance", elements
			}
		case intent.NetOrElement:
			_, net := d.Net(name)
			if _, ok := d.Find(name); !ok && !net {
				what, known = "net or element", nets
			}
		}
		if what != "" {
			diags = append(diags, source.Diagnostic{At: ref.At, Rule: "intent-name",
				Message: fmt.Sprintf("the netlist has no %s named %q", what, ref.Name), Near: hints.Nearest(ref.Name, known)})
		}
	}
	return diags
}

// Net is the net of a name, letter case aside; "gnd" is node 0.
func (d *Design) Net(name string) (circuit.Net, bool) {
	return d.Circuit.FindNet(name)
}

// need names an intent key that would settle something.
func need(path ...string) quantity.Need { return quantity.Need{In: "intent", Key: Key(path...)} }

// Key joins an intent path as it would be written, odd names quoted.
func Key(path ...string) string { return field.JoinKey(path) }
