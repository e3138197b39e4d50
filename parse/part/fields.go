package part

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// starting are the parts whose output is not valid from the first moment.
var starting = []string{"sense-amplifier", "digital-monitor", "op-amp", "comparator", "converter"}

// The roles of parts that share fields.
var (
	measuring  = []string{"sense-amplifier", "digital-monitor"}
	amplifying = []string{"sense-amplifier", "digital-monitor", "op-amp"}
	active     = []string{"sense-amplifier", "digital-monitor", "op-amp", "comparator"}
	comparing  = []string{"sense-amplifier", "digital-monitor", "comparator"}
	reading    = []string{"sense-amplifier", "digital-monitor", "op-amp", "comparator", "converter"}
	powered    = []string{"sense-amplifier", "digital-monitor", "op-amp", "comparator", "converter", "switch"}
	passive    = []string{"shunt", "clamp", "capacitor", "switch"}
	shunt      = []string{"shunt"}
	clamping   = []string{"clamp"}
	switching  = []string{"switch"}
	conducting = []string{"clamp", "switch"}
)

// Fields is all that a record may say. Limits are relative to the ground pin and may name pin roles. Data without
// logic: reading, explanations, completion and blanks all come from this list.
var Fields = []field.Field{
	{Key: "name", Shape: field.Text, Doc: "the name of the part; a subcircuit of this name is one"},
	{Key: "match", Shape: field.Names, Doc: "further names of its subcircuit, or of the model of a clamp or switch; * stands for any letters, ? for one"},
	{Key: "role", Shape: field.Word, Doc: "what the part is", Words: []string{"sense-amplifier", "digital-monitor",
		"op-amp", "comparator", "shunt", "clamp", "converter", "capacitor", "switch"}},
	{Key: "pins", Shape: field.Names, Doc: "pin roles in the order of the nets of its X card"},
	{Key: "pin-names.*", Shape: field.Names, Doc: "what the ports of its .subckt may call the pin of a role, beside the role itself"},
	{Key: "packages.*", Shape: field.Names, Doc: "pin roles in the order of the pins of a package, in which a card made from its symbol lists the nets"},
	{Key: "source", Shape: field.Text, Doc: "where the numbers come from"},

	{Key: "gain", Shape: field.Value, Unit: quantity.VoltPerVolt, Says: "25 V/V +- 0.3 %", Doc: "output over differential input", Roles: amplifying, MayBe: true},
	{Key: "gain-drift", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest change of the gain with temperature", Roles: measuring, MayBe: true},
	{Key: "transconductance", Shape: field.Value, Unit: quantity.AmpPerVolt, Doc: "output current over differential input, where the output is a current", Roles: measuring, MayBe: true},
	{Key: "nonlinearity", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "largest departure from a straight line, of full scale", Roles: reading},
	{Key: "direction", Shape: field.Word, Doc: "which currents it reads", Words: []string{"unidirectional", "bidirectional"}, Roles: measuring},
	{Key: "polarity", Shape: field.Word, Doc: "whether the output rises or falls with in+ above in-", Words: []string{"normal", "inverted"}, Roles: active},
	{Key: "bandwidth", Shape: field.AtLeast, Unit: quantity.Hertz, Doc: "smallest bandwidth", Roles: amplifying, MayBe: true},
	{Key: "delay", Shape: field.AtMost, Unit: quantity.Second, Doc: "longest delay from input to output", Roles: active, MayBe: true},
	{Key: "hysteresis", Shape: field.Value, Unit: quantity.Volt, Doc: "distance between the two thresholds of a comparator", Roles: comparing, MayBe: true},
	{Key: "start-up.time", Shape: field.AtMost, Unit: quantity.Second, Roles: starting, Doc: "longest time from a supply in its range to a valid output", MayBe: true},
	{Key: "start-up.output", Shape: field.Word, Roles: starting, Doc: "what the output does until it is valid", Words: []string{"low", "high", "open", "undefined"}},

	{Key: "supply.operating", Shape: field.Allowed, Unit: quantity.Volt, Says: "2.9 V .. 5.6 V", Doc: "supply over which the numbers are guaranteed", Roles: powered},
	{Key: "supply.survival", Shape: field.Allowed, Unit: quantity.Volt, Says: "-0.3 V .. 6.3 V", Doc: "supply that does no damage", Roles: powered},
	{Key: "supply.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest supply current", Roles: powered, MayBe: true},
	{Key: "supply.decoupling", Shape: field.AtLeast, Unit: quantity.Farad, Doc: "smallest capacitance at the supply pin", Roles: powered},
	{Key: "common-mode.operating", Shape: field.Allowed, Unit: quantity.Volt, Says: "-4 V .. 63 V", Doc: "voltage of each input pin at which it measures", Roles: active},
	{Key: "common-mode.survival", Shape: field.Allowed, Unit: quantity.Volt, Says: "-12 V .. 76 V", Doc: "voltage of each input pin that does no damage", Roles: active},
	{Key: "differential.operating", Shape: field.Allowed, Unit: quantity.Volt, Says: "-80 mV .. 80 mV", Doc: "in+ minus in- over which it is linear", Roles: active},
	{Key: "differential.survival", Shape: field.Allowed, Unit: quantity.Volt, Says: "-6 V .. 6 V", Doc: "in+ minus in- that does no damage", Roles: active},
	{Key: "differential.least", Shape: field.Points, Unit: quantity.Volt, XUnit: quantity.Volt, Doc: "smallest input at which the accuracy is guaranteed, maybe by common mode; a step is two points at one common mode", Roles: measuring},

	{Key: "input.model", Shape: field.Word, Doc: "what resistance in series with an input meets", Words: []string{
		"differential", "resistor-difference", "high-impedance", "current-output"}, Roles: measuring},
	{Key: "input.source-side", Shape: field.Word, Roles: measuring, Doc: "the input that must stand on the side which the current comes from, of a part that reads one direction",
		Words: []string{"in+", "in-"}},
	{Key: "input.resistance", Shape: field.Value, Unit: quantity.Ohm, Says: "8.3 kohm +- 17 %", Doc: "pin to pin for differential, R1 of each leg for resistor-difference, from input to ground of a converter", Roles: reading, MayBe: true},
	{Key: "input.temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the input resistance", Roles: active, MayBe: true},
	{Key: "input.carries", Shape: field.Word, Doc: "the input that carries the output current of a current output whose gain resistors outside set", Words: []string{"in+", "in-"},
		Roles: []string{"sense-amplifier"}},
	{Key: "input.survival-current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current forced into an input pin that does no damage", Roles: reading},
	{Key: "input.clamp-voltage", Shape: field.Value, Unit: quantity.Volt, Roles: measuring, Doc: "difference of the inputs at which a protection between them begins to conduct"},
	{Key: "input.leakage", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current into or out of an input of a converter", Roles: []string{"converter"}, MayBe: true},
	{Key: "bias.typical", Shape: field.Points, Unit: quantity.Amp, XUnit: quantity.Volt, Doc: "usual current into each input pin, maybe by common mode", Roles: active},
	{Key: "bias.max", Shape: field.Points, Unit: quantity.Amp, XUnit: quantity.Volt, Doc: "largest current into each input pin, maybe by common mode", Roles: active},
	{Key: "bias.mismatch", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest difference of the two bias currents", Roles: active},
	{Key: "bias.unpowered", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current into each input pin without supply", Roles: active},

	{Key: "output.low", Shape: field.Level, Unit: quantity.Volt, Says: "40 mV", XUnit: quantity.Ohm, Doc: "highest level that the output may stop at when driven low, maybe by load", Roles: active},
	{Key: "output.high", Shape: field.Level, Unit: quantity.Volt, Says: "supply - 80 mV", XUnit: quantity.Ohm, Doc: "lowest level that the output may stop at when driven high, maybe by load", Roles: active},
	{Key: "output.type", Shape: field.Word, Roles: []string{"comparator"}, Doc: "how the output is driven high", Words: []string{"push-pull", "open-drain"}},
	{Key: "output.most", Shape: field.Level, Unit: quantity.Volt, Doc: "highest level that the output can reach at all, where that is not the supply", Roles: active},
	{Key: "output.compliance", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage at a current output over which the current is guaranteed", Roles: active},
	{Key: "output.survival", Shape: field.Allowed, Unit: quantity.Volt, Roles: measuring, Doc: "voltage forced on the output that does no damage"},
	{Key: "output.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of the output", Roles: active, MayBe: true},
	{Key: "output.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current the output delivers", Roles: active},
	{Key: "output.sink", Shape: field.AtLeast, Unit: quantity.Amp, Doc: "current into the output that it surely takes while it stands at output.low", Roles: []string{"op-amp"}},
	{Key: "output.capacitance", Shape: field.AtMost, Unit: quantity.Farad, Doc: "largest capacitance the output drives without a resistor", Roles: active},

	{Key: "offset.max", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest input offset, of either sign", Roles: reading},
	{Key: "offset.typical", Shape: field.Typical, Unit: quantity.Volt, Doc: "usual input offset", Roles: reading},
	{Key: "offset.drift", Shape: field.AtMost, Unit: quantity.VoltPerKelvin, Doc: "largest change of the offset with temperature", Roles: reading},
	{Key: "offset.at.common-mode", Shape: field.Value, Unit: quantity.Volt, Doc: "common mode at which the offset is stated", Roles: reading},
	{Key: "offset.at.supply", Shape: field.Value, Unit: quantity.Volt, Doc: "supply at which the offset is stated", Roles: reading},
	{Key: "offset.at.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the offset is stated", Roles: reading},
	{Key: "cmrr.min", Shape: field.AtLeast, Unit: quantity.Decibel, Doc: "smallest rejection of the common mode", Roles: active},
	{Key: "cmrr.typical", Shape: field.Typical, Unit: quantity.Decibel, Doc: "usual rejection of the common mode", Roles: active},
	{Key: "psrr.max", Shape: field.AtMost, Unit: quantity.VoltPerVolt, Doc: "largest input offset per change of the supply", Roles: active},
	{Key: "psrr.typical", Shape: field.Typical, Unit: quantity.VoltPerVolt, Doc: "usual input offset per change of the supply", Roles: active},

	{Key: "reference.model", Shape: field.Word, Doc: "what the reference pins meet", Words: []string{"resistor-pair", "two-stage", "high-impedance"}, Roles: measuring},
	{Key: "reference.resistance", Shape: field.Value, Unit: quantity.Ohm, Says: "260 kohm +- 25 %", Doc: "resistance from each reference pin inwards", Roles: measuring, MayBe: true},
	{Key: "reference.split", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "largest error of the middle between two reference pins", Roles: measuring},
	{Key: "reference.operating", Shape: field.Allowed, Unit: quantity.Volt, Says: "ground .. supply", Doc: "voltage of each reference pin at which it works", Roles: measuring},
	{Key: "reference.survival", Shape: field.Allowed, Unit: quantity.Volt, Roles: measuring, Doc: "voltage of each reference pin that does no damage"},
	{Key: "reference.current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest leakage of a high-impedance reference pin", Roles: measuring, MayBe: true},
	{Key: "reference.internal", Shape: field.Level, Unit: quantity.Volt, Doc: "voltage that the resistance of a reference pin returns to", Roles: measuring},

	{Key: "isolated", Shape: field.Flag, Doc: "whether the inputs are isolated from the supply, ground and output",
		Roles: []string{"sense-amplifier", "digital-monitor", "op-amp", "comparator", "converter"}},

	{Key: "enable.survival", Shape: field.Allowed, Unit: quantity.Volt, Roles: measuring, Doc: "voltage of the enable pin that does no damage"},

	{Key: "enable.low", Shape: field.Level, Unit: quantity.Volt, Roles: reading, Doc: "highest level that the enable pin takes for low"},
	{Key: "enable.high", Shape: field.Level, Unit: quantity.Volt, Roles: reading, Doc: "lowest level that the enable pin takes for high"},
	{Key: "enable.pull", Shape: field.Word, Roles: reading, Doc: "what the part itself pulls its open enable pin to", Words: []string{"up", "down", "none"}},
	{Key: "enable.active", Shape: field.Word, Roles: reading, Doc: "the level of the enable pin that turns the part on", Words: []string{"high", "low"}},
	{Key: "gain-select.low", Shape: field.Level, Unit: quantity.Volt, Roles: amplifying, Doc: "highest level that a gain-select pin takes for low"},
	{Key: "gain-select.high", Shape: field.Level, Unit: quantity.Volt, Roles: amplifying, Doc: "lowest level that a gain-select pin takes for high"},
	{Key: "gain-select.pull", Shape: field.Word, Roles: amplifying, Doc: "what the part itself pulls its open gain-select pin to", Words: []string{"up", "down", "none"}},
	{Key: "address.pull", Shape: field.Word, Roles: reading, Doc: "what the part itself pulls its open address pin to", Words: []string{"up", "down", "none"}},

	{Key: "rated.ambient", Shape: field.Allowed, Unit: quantity.Celsius, Says: "-40 degC .. 125 degC", Doc: "ambient temperatures over which the numbers are guaranteed"},
	{Key: "rated.junction", Shape: field.AtMost, Unit: quantity.Celsius, Doc: "highest junction temperature"},
	{Key: "rated.theta-ja", Shape: field.AtMost, Unit: quantity.KelvinPerWatt, Doc: "thermal resistance from junction to ambient", MayBe: true},

	{Key: "digital.ranges", Shape: field.Points, Unit: quantity.Volt, XUnit: quantity.Volt, Roles: []string{"digital-monitor"},
		Doc: "full scales of in+ above in- that can be selected, each with its step; the same downwards where the part is bidirectional"},
	{Key: "digital.alert-bits", Shape: field.Count, Doc: "bits of the register that a trip is written into, the sign among them", Roles: []string{"digital-monitor"}},
	{Key: "digital.alert-step", Shape: field.Value, Unit: quantity.Volt, Doc: "step of that register, where it is not that of the range", Roles: []string{"digital-monitor"}},
	{Key: "digital.survival", Shape: field.Allowed, Unit: quantity.Volt, Doc: "voltage of the pins clock, data and alert that does no damage", Roles: []string{"digital-monitor"}},

	{Key: "resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of a shunt", Roles: shunt},
	{Key: "temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the resistance of a shunt", Roles: shunt},
	{Key: "terminals", Shape: field.Count, Doc: "2, or 4 where a shunt has separate sense terminals", Roles: shunt},
	{Key: "power", Shape: field.AtMost, Unit: quantity.Watt, Doc: "largest continuous power", Roles: passive},
	{Key: "derating.from", Shape: field.Value, Unit: quantity.Celsius, Roles: []string{"shunt"}, Doc: "ambient temperature up to which the whole power is allowed"},
	{Key: "derating.to", Shape: field.Value, Unit: quantity.Celsius, Roles: []string{"shunt"}, Doc: "ambient temperature at which no power is left, on a straight line from there"},
	{Key: "pulse.power", Shape: field.Points, Unit: quantity.Watt, XUnit: quantity.Second, Roles: []string{"shunt"}, Doc: "largest power of one pulse, by its duration"},
	{Key: "pulse.energy", Shape: field.Points, Unit: quantity.Joule, XUnit: quantity.Second, Roles: []string{"shunt"}, Doc: "largest energy of one pulse, maybe by its duration"},
	{Key: "inductance", Shape: field.Value, Unit: quantity.Henry, Doc: "inductance of a shunt", Roles: shunt},
	{Key: "voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest continuous voltage across a part with two pins", Roles: passive},
	{Key: "on-resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of a closed switch", Roles: switching},
	{Key: "channel", Shape: field.Word, Doc: "which way the body diode of a switch with drain and source conducts: from the source with n, to it with p", Words: []string{"n", "p"}, Roles: switching},
	{Key: "drop", Shape: field.Value, Unit: quantity.Volt, Doc: "forward drop of a diode, of a clamp from anode to cathode, or of the body diode of a switch", Roles: conducting},
	{Key: "clamp.standoff", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage up to which a clamp only leaks", Roles: clamping},
	{Key: "clamp.breakdown", Shape: field.Value, Unit: quantity.Volt, Says: "64 V .. 71 V", Doc: "voltage at which a clamp begins to conduct", Roles: clamping},
	{Key: "clamp.level", Shape: field.Points, Unit: quantity.Volt, Says: `[["0 A", "71 V"], ["16 A", "93 V"]]`, XUnit: quantity.Amp, Doc: "highest voltage of a clamp by current", Roles: clamping},
	{Key: "clamp.leakage", Shape: field.Points, Unit: quantity.Amp, XUnit: quantity.Celsius, Doc: "largest current of a clamp up to its standoff voltage, maybe by temperature", Roles: clamping},
	{Key: "clamp.temperature-coefficient", Shape: field.Value, Unit: quantity.PerKelvin, Roles: clamping, Doc: "drift of the breakdown voltage of a clamp, with its sign, from 25 degC"},
	{Key: "clamp.pulse-power", Shape: field.Points, Unit: quantity.Watt, XUnit: quantity.Second, Roles: clamping, Doc: "largest power of a clamp at the peak of a pulse, by the time in which the pulse falls to a half"},
	{Key: "clamp.pulse-energy", Shape: field.Points, Unit: quantity.Joule, XUnit: quantity.Second, Roles: clamping, Doc: "largest energy of one pulse in a clamp, by its duration"},

	{Key: "units.*.*", Shape: field.Count, Doc: "of a package with several units: the pin, counted from 1, that has a role in a unit"},
}

// Suffix is the field that a gain code has beside those it overrides.
var Suffix = field.Field{Key: "suffix", Shape: field.Text, Doc: "what a gain code adds to the name and to each of the further names"}

// whole are the keys that belong to the part and not to a gain code.
var whole = []string{"name", "match", "role", "pins", "pin-names.*", "packages.*", "units.*.*"}

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
