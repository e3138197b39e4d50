package design

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// An Op says what a Change does.
type Op uint8

const (
	Set     Op = iota // the element's value
	Open              // the element is not there
	Short             // the element is a piece of wire
	Replace           // the amplifier is another part
	Hold              // a pin is driven by an ideal source
	Field             // a field of the amplifier's record reads otherwise
	Declare           // a rail of intent reads otherwise
	Swap              // two pins of the element change places
	Connect           // a pin of the element stands on another net
	Amend             // an entry of intent holds another range
)

// A Change is one alteration laid over a design. Remedies, what-if, swap, faults, variants and power states are all
// the same few changes.
type Change struct {
	Op     Op
	Target string  // an element path ("XA.RF1"), for Declare a net name
	Pin    string  // Hold: the pin role
	Key    string  // Field: the record key
	Value  float64 // SI units. Set: as its card says it, of one copy; Hold: from the amplifier's ground pin
	Text   string  // Replace: the part; Field, Declare: the quantity as it would be written
	Unit   quantity.Unit
	Pins   [2]int            // Swap: both pins; Connect: the first is the pin; counted from 0 in card order
	Net    circuit.Net       // Connect
	Path   []string          // Amend: the components of the key
	Range  quantity.Interval // Amend: in the unit of the entry
}

func (c Change) String() string {
	switch c.Op {
	case Open:
		return c.Target + " open"
	case Short:
		return c.Target + " short"
	case Replace:
		return c.Target + ".part=" + c.Text
	case Hold:
		return c.Target + "." + c.Pin + "=" + quantity.Show(c.Value, quantity.Volt)
	case Field:
		return c.Target + " " + c.Key + "=" + c.Text
	case Declare:
		return "rails." + c.Target + "=" + c.Text
	case Amend:
		return Key(c.Path...) + "=" + span(quantity.ScaleFor(c.Unit, c.Range.Lo, c.Range.Hi), c.Range)
	case Swap:
		return fmt.Sprintf("%s pins %d and %d swapped", c.Target, c.Pins[0]+1, c.Pins[1]+1)
	case Connect:
		return fmt.Sprintf("%s pin %d on %s", c.Target, c.Pins[0]+1, c.Text)
	}
	return c.Target + "=" + quantity.Show(c.Value, c.Unit)
}

// With is the design with changes laid over it, the newest winning; d is untouched.
func (d *Design) With(changes ...Change) *Design {
	o := *d
	o.over = append(slices.Clip(d.over), changes...)
	for _, c := range changes {
		if c.Op == Amend {
			o.Intent = o.Intent.Amended(c.Range, c.Path...)
		}
	}
	if o.index = nil; len(o.over) > fewChanges {
		o.index = map[circuit.ID][]int{}
		for i, c := range o.over {
			if id, ok := d.Circuit.Find(c.Target); ok {
				o.index[id] = append(o.index[id], i)
			}
		}
	}
	return &o
}

// fewChanges are looked through one by one; a variant that a stranger wrote may have more.
const fewChanges = 16

// change is the newest change to an element by one of the operations.
func (d *Design) change(id circuit.ID, ops ...Op) *Change {
	switch {
	case len(d.over) == 0:
		return nil
	case d.index == nil:
		return d.named(d.Circuit.Path(id), ops...)
	}
	list := d.index[id]
	for i := len(list) - 1; i >= 0; i-- {
		if c := &d.over[list[i]]; slices.Contains(ops, c.Op) {
			return c
		}
	}
	return nil
}

func (d *Design) named(target string, ops ...Op) *Change {
	for i := len(d.over) - 1; i >= 0; i-- {
		if c := &d.over[i]; slices.Contains(ops, c.Op) && strings.EqualFold(c.Target, target) {
			return c
		}
	}
	return nil
}

// Held is the voltage, from the amplifier's ground pin, that a change drives a pin with.
func (d *Design) Held(e Element, pin string) (volts float64, ok bool) {
	for i := len(d.over) - 1; i >= 0; i-- {
		c := &d.over[i]
		if c.Op == Hold && c.Pin == pin && strings.EqualFold(c.Target, e.Path()) {
			return c.Value, true
		}
	}
	return 0, false
}

// Plain tells that no changes are laid over the design, and that it is no variant.
func (d *Design) Plain() bool { return len(d.over) == 0 && !d.varied }

// pin is the net of a pin once pins have been swapped and moved.
func (d *Design) pin(e Element, i int) circuit.Net {
	net := func(i int) circuit.Net { return d.Circuit.Pins[e.raw().First+uint32(i)] }
	if d.index != nil && d.index[e.ID] == nil {
		return net(i)
	}
	path := ""
	for k := len(d.over) - 1; k >= 0; k-- { // the newest change decides what the pin was before it
		c := &d.over[k]
		if c.Op != Swap && c.Op != Connect {
			continue
		}
		if path == "" {
			path = e.Path()
		}
		switch {
		case !strings.EqualFold(c.Target, path):
		case c.Op == Connect && c.Pins[0] == i:
			return c.Net
		case c.Op == Swap && c.Pins[0] == i:
			i = c.Pins[1]
		case c.Op == Swap && c.Pins[1] == i:
			i = c.Pins[0]
		}
	}
	return net(i)
}

// moved are the elements that a change has put on a net.
func (d *Design) moved(n circuit.Net) (out []circuit.ID) {
	for i := range d.over {
		if c := &d.over[i]; c.Op == Connect && c.Net == n {
			if e, ok := d.Find(c.Target); ok && !slices.Contains(out, e.ID) {
				out = append(out, e.ID)
			}
		}
	}
	return out
}

// rewired tells that a change has moved a pin of some element.
func (d *Design) rewired() bool {
	return slices.ContainsFunc(d.over, func(c Change) bool { return c.Op == Connect })
}
