package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Stage is a part of an amplifier that loads or drives the nets of its pins.
type Stage string

// The stages that may be taken out of an amplifier.
const (
	ReferenceStage Stage = "reference" // what its reference pins load their nets with
	OutputStage    Stage = "output"    // what drives its output pin
)

// Apart is what a form can reach, in volts, with one stage of an amplifier not drawn: what stands there before the stage
// loads or drives it. amps, in amperes, is driven into the net in its place; without causes it is nothing.
func (s *Solver) Apart(f Form, r design.Regime, amp design.Element, unit string, stage Stage, into circuit.Net, amps quantity.Quantity) quantity.Quantity {
	name := s.name(f)
	if f = f.lifted(); len(f) == 0 {
		return quantity.Exactly(name, quantity.Volt, 0)
	}
	var nets []circuit.Net
	for _, t := range f {
		nets = append(nets, t.Net)
	}
	is := s.buildWith(nets, r, func(is *island) {
		key := amp.Path() + ":" + unit + " "
		is.amps[key+string(stage)] = -1
		if model, _ := amp.Word("input.model"); stage == ReferenceStage && model == "resistor-difference" {
			is.amps[key+"input"], is.amps[key+"stage"] = -1, -1
		}
		if amps.Unit == quantity.Amp {
			is.inject(into, injection{amps: is.input(amps), sign: 1, idle: -1, drive: drivesOn, what: amp.Path()})
		}
	})
	if len(is.unknowns) > 0 {
		return unsaid(name, quantity.Volt, is.unknowns)
	}
	return is.bound(name, quantity.Volt, is.of(f))
}
