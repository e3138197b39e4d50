package part

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Fields is all that a record may say. Limits are relative to the ground pin and may name pin roles. Data without
// logic: reading, explanations, completion and blanks all come from this list.
var Fields = []field.Field{
	{Key: "name", Shape: field.Text, Doc: "the name of the part; a subcircuit of this name is one"},
	{Key: "match", Shape: field.Names, Doc: "further names of its subcircuit, or of the model of a clamp or switch; * stands for any letters, ? for one"},
	{Key: "role", Shape: field.Word, Doc: "what the part is", Words: []string{"sense-amplifier", "digital-monitor",
		"op-amp", "comparator", "shunt", "clamp", "converter", "capacitor", "switch"}},
	{Key: "pins", Shape: field.Names, Doc: "pin roles in the order of the nets of its X card"},
	{Key: "source", Shape: field.Text, Doc: "where the numbers come from"},

	{Key: "gain", Shape: field.Value, Unit: quantity.VoltPerVolt, Doc: "output over differential input"},
	{Key: "gain-drift", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest change of the gain with temperature"},
	{Key: "transconductance", Shape: field.Value, Unit: quantity.AmpPerVolt, Doc: "output current over differential input, where the output is a current"},
	{Key: "nonlinearity", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "largest departure from a straight line, of full scale"},
	{Key: "direction", Shape: field.Word, Doc: "which currents it reads", Words: []string{"unidirectional", "bidirectional"}},
	{Key: "polarity", Shape: field.Word, Doc: "whether the output rises or falls with in+ above in-", Words: []string{"normal", "inverted"}},
	{Key: "bandwidth", Shape: field.AtLeast, Unit: quantity.Hertz, Doc: "smallest bandwidth"},
	{Key: "delay", Shape: field.AtMost, Unit: quantity.Second, Doc: "longest delay from input to output"},
	{Key: "hysteresis", Shape: field.Value, Unit: quantity.Volt, Doc: "distance between the two thresholds of a comparator"},

	{Key: "supply.operating", Shape: field.Allowed, Unit: quantity.Volt, Doc: "supply over which the numbers are guaranteed"},
	{Key: "supply.survival", Shape: field.Allowed, Unit: quantity.Volt, Doc: "supply that does no damage"},
	{Key: "supply.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest supply current"},
	{Key: "supply.decoupling", Shape: field.AtLeast, Unit: quantity.Farad, Doc: "smallest capacitance at the supply pin"},
	{Key: "common-mode.operating", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage of each input pin at which it measures"},
	{Key: "common-mode.survival", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage of each input pin that does no damage"},
	{Key: "differential.operating", Shape: field.Allowed, Unit: quantity.Volt, Doc: "in+ minus in- over which it is linear"},
	{Key: "differential.survival", Shape: field.Allowed, Unit: quantity.Volt, Doc: "in+ minus in- that does no damage"},
	{Key: "differential.least", Shape: field.AtLeast, Unit: quantity.Volt, Doc: "smallest input at which the accuracy is guaranteed"},

	{Key: "input.model", Shape: field.Word, Doc: "what resistance in series with an input meets", Words: []string{
		"differential", "resistor-difference", "high-impedance", "current-output"}},
	{Key: "input.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "pin to pin for differential, R1 of each leg for resistor-difference"},
	{Key: "input.temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the input resistance"},
	{Key: "input.survival-current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current forced into an input pin that does no damage"},
	{Key: "bias.typical", Shape: field.Points, Unit: quantity.Amp, XUnit: quantity.Volt, Doc: "usual current into each input pin, maybe by common mode"},
	{Key: "bias.max", Shape: field.Points, Unit: quantity.Amp, XUnit: quantity.Volt, Doc: "largest current into each input pin, maybe by common mode"},
	{Key: "bias.mismatch", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest difference of the two bias currents"},
	{Key: "bias.unpowered", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current into each input pin without supply"},

	{Key: "output.low", Shape: field.Level, Unit: quantity.Volt, XUnit: quantity.Ohm, Doc: "highest level that the output may stop at when driven low, maybe by load"},
	{Key: "output.high", Shape: field.Level, Unit: quantity.Volt, XUnit: quantity.Ohm, Doc: "lowest level that the output may stop at when driven high, maybe by load"},
	{Key: "output.compliance", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage at a current output over which the current is guaranteed"},
	{Key: "output.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of the output"},
	{Key: "output.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current the output delivers"},
	{Key: "output.sink", Shape: field.AtLeast, Unit: quantity.Amp, Doc: "current into the output that it surely takes while it stands at output.low", Roles: []string{"op-amp"}},
	{Key: "output.capacitance", Shape: field.AtMost, Unit: quantity.Farad, Doc: "largest capacitance the output drives without a resistor"},

	{Key: "offset.max", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest input offset, of either sign"},
	{Key: "offset.typical", Shape: field.Typical, Unit: quantity.Volt, Doc: "usual input offset"},
	{Key: "offset.drift", Shape: field.AtMost, Unit: quantity.VoltPerKelvin, Doc: "largest change of the offset with temperature"},
	{Key: "offset.at.common-mode", Shape: field.Value, Unit: quantity.Volt, Doc: "common mode at which the offset is stated"},
	{Key: "offset.at.supply", Shape: field.Value, Unit: quantity.Volt, Doc: "supply at which the offset is stated"},
	{Key: "offset.at.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the offset is stated"},
	{Key: "cmrr.min", Shape: field.AtLeast, Unit: quantity.Decibel, Doc: "smallest rejection of the common mode"},
	{Key: "cmrr.typical", Shape: field.Typical, Unit: quantity.Decibel, Doc: "usual rejection of the common mode"},
	{Key: "psrr.max", Shape: field.AtMost, Unit: quantity.VoltPerVolt, Doc: "largest input offset per change of the supply"},
	{Key: "psrr.typical", Shape: field.Typical, Unit: quantity.VoltPerVolt, Doc: "usual input offset per change of the supply"},

	{Key: "reference.model", Shape: field.Word, Doc: "what the reference pins meet", Words: []string{"resistor-pair", "two-stage", "high-impedance"}},
	{Key: "reference.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance from each reference pin inwards"},
	{Key: "reference.split", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "largest error of the middle between two reference pins"},
	{Key: "reference.operating", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage of each reference pin at which it works"},
	{Key: "reference.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest leakage of a high-impedance reference pin"},
	{Key: "reference.internal", Shape: field.Level, Unit: quantity.Volt, Doc: "voltage that the resistance of a reference pin returns to"},

	{Key: "rated.ambient", Shape: field.Allowed, Unit: quantity.Celsius, Doc: "ambient temperatures over which the numbers are guaranteed"},
	{Key: "rated.junction", Shape: field.AtMost, Unit: quantity.Celsius, Doc: "highest junction temperature"},
	{Key: "rated.theta-ja", Shape: field.AtMost, Unit: quantity.KelvinPerWatt, Doc: "thermal resistance from junction to ambient"},

	{Key: "resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of a shunt"},
	{Key: "temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the resistance of a shunt"},
	{Key: "terminals", Shape: field.Count, Doc: "2, or 4 where a shunt has separate sense terminals"},
	{Key: "power", Shape: field.AtMost, Unit: quantity.Watt, Doc: "largest continuous power"},
	{Key: "inductance", Shape: field.Value, Unit: quantity.Henry, Doc: "inductance of a shunt"},
	{Key: "voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest continuous voltage across a part with two pins"},
	{Key: "on-resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of a closed switch"},
	{Key: "channel", Shape: field.Word, Doc: "which way the body diode of a switch with drain and source conducts: from the source with n, to it with p", Words: []string{"n", "p"}},
	{Key: "drop", Shape: field.Value, Unit: quantity.Volt, Doc: "forward drop of a diode, of a clamp from anode to cathode, or of the body diode of a switch"},
	{Key: "clamp.standoff", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage up to which a clamp only leaks"},
	{Key: "clamp.breakdown", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage at which a clamp begins to conduct"},
	{Key: "clamp.level", Shape: field.Points, Unit: quantity.Volt, XUnit: quantity.Amp, Doc: "highest voltage of a clamp by current"},
	{Key: "clamp.leakage", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current of a clamp up to its standoff voltage"},

	{Key: "units.*.*", Shape: field.Count, Doc: "of a package with several units: the pin, counted from 1, that has a role in a unit"},
}

// Suffix is the field that a gain code has beside those it overrides.
var Suffix = field.Field{Key: "suffix", Shape: field.Text, Doc: "what a gain code adds to the name and to each of the further names"}

// whole are the keys that belong to the part and not to a gain code.
var whole = []string{"name", "match", "role", "pins", "units.*.*"}

// file is what a file of records may hold.
var file = &field.Table{Arrays: map[string]*field.Table{"part": {
	Fields: Fields,
	Arrays: map[string]*field.Table{"code": {Fields: codeFields()}},
}}}

func codeFields() []field.Field {
	list := []field.Field{Suffix}
	for _, f := range Fields {
		if !slices.Contains(whole, f.Key) {
			list = append(list, f)
		}
	}
	return list
}

// Lookup is the known field of a key; nil when none is.
func Lookup(key string) *field.Field {
	for i := range Fields {
		if Fields[i].Key == key {
			return &Fields[i]
		}
	}
	return nil
}
