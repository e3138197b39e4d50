package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// converters are the nets with a declared converter that draws something there.
func converters(d *design.Design) map[circuit.Net]string {
	out := map[circuit.Net]string{}
	for _, name := range d.Intent.Names("converters") {
		n, ok := d.Net(name)
		if ok && (d.Intent.Says("converters", name, "input-resistance") || d.Intent.Says("converters", name, "leakage")) {
			out[n] = name
		}
	}
	return out
}

// converter adds what the converter that intent declares on a net draws there: through its input resistance to node 0, and
// its leakage of either sign. What nobody declares is taken for none.
func (is *island) converter(n circuit.Net) {
	name, ok := is.s.converters[n]
	if !ok || is.place(n) < 0 {
		return
	}
	if r := is.s.d.Declared(quantity.Ohm, "converters", name, "input-resistance"); r.Known() {
		is.resistors = append(is.resistors, resistor{is.place(n), is.place(0), is.input(r), -1, "converter on " + name})
	}
	if a := is.s.d.Declared(quantity.Amp, "converters", name, "leakage"); a.Known() {
		is.inject(n, injection{amps: is.input(bothSigns(a)), sign: 1, idle: -1, drive: drivesOn, what: "converter on " + name})
	}
}

// converterPin adds what an input of a converter with a record draws: its input resistance to the ground pin and its
// leakage, as far as the record says them. False for parts of other roles.
func (is *island) converterPin(e design.Element, n circuit.Net) bool {
	if e.Record().Role() != "converter" {
		return false
	}
	pin := e.Path() + " " + is.s.d.Circuit.NetName(n)
	ground, ok := e.PinOf("ground", "")
	if e.Entry("input.resistance") != nil && ok && is.once(e, "", "input "+pin) {
		is.resistors = append(is.resistors, resistor{is.place(n), is.place(ground), is.input(e.Part("input.resistance")), -1, e.Path()})
	}
	if e.Entry("input.leakage") != nil && is.once(e, "", "leakage "+pin) {
		a := bothSigns(e.Part("input.leakage"))
		is.inject(n, injection{amps: is.input(a), sign: 1, idle: -1, drive: drivesOn, what: e.Path()})
	}
	return true
}
