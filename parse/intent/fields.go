package intent

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Fields is all that an intent file may say. Names in formulas are nets. Data without logic: reading, explanations,
// completion and blanks all come from this list.
var Fields = []field.Field{
	{Key: "temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "ambient temperature"},

	{Key: "rails.*", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage of a net, which it never leaves"},
	{Key: "rails.*.operating", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage of a net while it works"},
	{Key: "rails.*.survival", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage of a net in every event it must survive"},
	{Key: "rails.*.follows", Shape: field.Text, Doc: "the net that this one follows"},
	{Key: "rails.*.within", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest distance from the net it follows"},

	{Key: "currents.*.range", Shape: field.Value, Unit: quantity.Amp, Doc: "current of a shunt while it measures"},
	{Key: "currents.*.from", Shape: field.Text, Doc: "the net that positive current leaves to enter the shunt"},
	{Key: "currents.*.rms", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest effective current"},
	{Key: "currents.*.ripple", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest ripple, peak to peak"},
	{Key: "currents.*.fault", Shape: field.Fault, Unit: quantity.Amp, Doc: "largest current in a fault, and for how long"},
	{Key: "currents.*.least", Shape: field.Value, Unit: quantity.Amp, Doc: "smallest current of interest"},

	{Key: "switching.*.between", Shape: field.Names, Doc: "the two nets that a net is switched between"},
	{Key: "switching.*.frequency", Shape: field.Value, Unit: quantity.Hertz, Doc: "switching frequency"},
	{Key: "switching.*.edge", Shape: field.AtMost, Unit: quantity.VoltPerSecond, Doc: "steepest edge"},

	{Key: "goals.*.error", Shape: field.Goal, Unit: quantity.Ratio, Doc: "largest error of the reported current that is allowed"},
	{Key: "goals.*.at", Shape: field.Value, Unit: quantity.Amp, Doc: "current from which upward the goal applies"},
	{Key: "goals.*.method", Shape: field.Word, Doc: "how errors add up", Words: []string{"worst-case", "rss"}},

	{Key: "converters.*.range", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltages that a converter on a net reads"},
	{Key: "converters.*.bits", Shape: field.Count, Doc: "bits of the converter"},
	{Key: "converters.*.scale", Shape: field.Value, Unit: quantity.VoltPerAmp, Doc: "volts per ampere that the firmware takes"},
	{Key: "converters.*.zero", Shape: field.Level, Unit: quantity.Volt, Doc: "voltage that the firmware takes for no current"},

	{Key: "calibration.*.offset", Shape: field.Flag, Doc: "whether the offset is calibrated"},
	{Key: "calibration.*.offset.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the offset is calibrated"},
	{Key: "calibration.*.offset.common-mode", Shape: field.Value, Unit: quantity.Volt, Doc: "common mode at which the offset is calibrated"},
	{Key: "calibration.*.offset.supply", Shape: field.Value, Unit: quantity.Volt, Doc: "supply at which the offset is calibrated"},
	{Key: "calibration.*.gain", Shape: field.Flag, Doc: "whether the gain is calibrated"},
	{Key: "calibration.*.gain.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the gain is calibrated"},
	{Key: "calibration.*.gain.current", Shape: field.Value, Unit: quantity.Amp, Doc: "current at which the gain is calibrated"},

	{Key: "states.*.measuring", Shape: field.Flag, Doc: "whether the readings count in this state"},
	{Key: "states.*.rails.*", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage of a net in this state"},

	{Key: "tolerances.resistors", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of resistors that state none"},
	{Key: "tolerances.capacitors", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of capacitors that state none"},

	{Key: "elements.*.tolerance", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of the value of an element"},
	{Key: "elements.*.temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the value, from 25 degC"},
	{Key: "elements.*.drop", Shape: field.Value, Unit: quantity.Volt, Doc: "forward drop of a diode or body diode"},
	{Key: "elements.*.on-resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of a closed switch or transistor, or of a diode that conducts, in series with its drop"},
	{Key: "elements.*.base-current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current between base and emitter of a bipolar transistor"},
	{Key: "elements.*.exclusive-with", Shape: field.Names, Doc: "elements that are never closed together with this one"},
	{Key: "elements.*.current", Shape: field.Value, Unit: quantity.Amp, Doc: "current from the first to the second node"},
	{Key: "elements.*.power", Shape: field.AtMost, Unit: quantity.Watt, Doc: "largest continuous power"},
	{Key: "elements.*.voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest continuous voltage"},
	{Key: "elements.*.inductance", Shape: field.Value, Unit: quantity.Henry, Doc: "inductance of a shunt"},
	{Key: "elements.*.terminals", Shape: field.Count, Doc: "2, or 4 where a shunt has separate sense terminals"},
	{Key: "elements.*.matched-with", Shape: field.Names, Doc: "resistors of the same matched network, whose tolerances move together"},
	{Key: "elements.*.tracking", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "how far the ratio of two resistors of a matched network may be off, over temperature"},
	{Key: "elements.*.net-tie", Shape: field.Flag, Doc: "whether the element only joins two nets on the board"},
}

// CardFields is what comment cards may say beyond Fields: what a netlist that tests a rule expects to be found.
var CardFields = []field.Field{
	{Key: "finds.*", Shape: field.Text, Doc: "a text that a finding of this rule must hold"},
	{Key: "silent", Shape: field.Names, Doc: "rules that must find nothing"},
}

var (
	file = &field.Table{Fields: Fields}
	card = &field.Table{Fields: slices.Concat(Fields, CardFields)}

	// pragma is card beside acceptances, which are read elsewhere: it is what a mistyped key may have meant.
	pragma = &field.Table{Fields: card.Fields, Arrays: map[string]*field.Table{"accept.*": {}}}
)

// Lookup is the known field of a key such as "rails.*.operating"; nil when none is.
func Lookup(key string) *field.Field {
	for i := range Fields {
		if Fields[i].Key == key {
			return &Fields[i]
		}
	}
	return nil
}
