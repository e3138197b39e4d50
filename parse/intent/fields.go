package intent

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Fields is all that an intent file may say. Names in formulas are nets. Data without logic: reading, explanations,
// completion and blanks all come from this list.
var Fields = []field.Field{
	{Key: "temperature", Shape: field.Value, Unit: quantity.Celsius, Says: "-20 degC .. 70 degC", Doc: "ambient temperature"},

	{Key: "rails.*", Shape: field.Value, Unit: quantity.Volt, Says: "3.3 V +- 2 %", Doc: "voltage of a net, which it never leaves"},
	{Key: "rails.*.operating", Shape: field.Value, Unit: quantity.Volt, Says: "40 V .. 56 V", Doc: "voltage of a net while it works"},
	{Key: "rails.*.survival", Shape: field.Value, Unit: quantity.Volt, Says: "0 V .. 65 V", Doc: "voltage of a net in every event it must survive"},
	{Key: "rails.*.envelope", Shape: field.Text, Says: "ISO 16750-2:2023 12 V C", Doc: "the envelope of a standard that a net stays in while it works; the command envelopes lists them"},
	{Key: "rails.*.events", Shape: field.Names, Says: "jump start", Doc: "the events of its envelope that a net must survive; an empty list for none"},
	{Key: "rails.*.follows", Shape: field.Text, Doc: "the net that this one follows"},
	{Key: "rails.*.within", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest distance from the net it follows"},

	{Key: "currents.*.range", Shape: field.Value, Unit: quantity.Amp, Says: "-5 A .. 15 A", Doc: "current of a shunt while it measures; of parallel ones that of the one named"},
	{Key: "currents.*.from", Shape: field.Text, Doc: "the net that positive current leaves to enter the shunt"},
	{Key: "currents.*.rms", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest effective current"},
	{Key: "currents.*.ripple", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest ripple, peak to peak"},
	{Key: "currents.*.fault", Shape: field.Fault, Unit: quantity.Amp, Doc: "largest current in a fault, and for how long"},
	{Key: "currents.*.stray-inductance", Shape: field.AtMost, Unit: quantity.Henry, Doc: "largest inductance of the shunt's own loop that no card draws: shunt, copper and leads up to the amplifier's ground"},
	{Key: "currents.*.open-shunt", Shape: field.Word, Doc: "what an open shunt may do: anything, no damage beyond it, or nothing that matters to safety", Words: []string{"accepted", "survive", "safe"}},
	{Key: "currents.*.damage", Shape: field.AtMost, Unit: quantity.Amp, Doc: "size of the current that the circuit must never reach"},
	{Key: "currents.*.fault-voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest voltage that drives a fault current up"},
	{Key: "currents.*.fault-inductance", Shape: field.AtLeast, Unit: quantity.Henry, Doc: "smallest inductance that holds a fault current back, saturated where it saturates"},
	{Key: "currents.*.inrush.capacitance", Shape: field.AtMost, Unit: quantity.Farad, Doc: "largest capacitance that is charged through the shunt at once"},
	{Key: "currents.*.inrush.voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest voltage that it is charged by at once"},
	{Key: "currents.*.inrush.resistance", Shape: field.AtLeast, Unit: quantity.Ohm, Doc: "smallest resistance of the charging loop beside the shunt"},
	{Key: "currents.*.burden", Shape: field.Goal, Unit: quantity.Volt, Doc: "largest voltage that the shunt may take from its circuit"},
	{Key: "currents.*.ground-lift", Shape: field.Goal, Unit: quantity.Volt, Doc: "largest lift of the ground on the far side of a low-side shunt that signals crossing it stand"},
	{Key: "currents.*.least", Shape: field.Value, Unit: quantity.Amp, Doc: "smallest current of interest"},
	{Key: "currents.*.slope", Shape: field.AtMost, Unit: quantity.AmpPerSecond, Doc: "steepest change of the current"},
	{Key: "currents.*.step", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest change of the current at that slope"},

	{Key: "hot-plug.*.voltage", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage that a net is plugged to while it lives"},
	{Key: "hot-plug.*.inductance", Shape: field.Value, Unit: quantity.Henry, Doc: "inductance of the cable and source that a net is plugged to"},
	{Key: "hot-plug.*.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance in series with that inductance, of the capacitors included"},
	{Key: "hot-plug.*.capacitance", Shape: field.Value, Unit: quantity.Farad, Doc: "capacitance that is charged; that of the net's capacitors to ground where nothing is said"},
	{Key: "hot-plug.*.ramped", Shape: field.Flag, Doc: "whether the connection rises slowly: precharge or an inrush limiter, so that nothing rings"},

	{Key: "surges.*.at", Shape: field.Text, Doc: "the net that a surge enters"},
	{Key: "surges.*.pulse", Shape: field.Text, Says: "ISO 7637-2:2011 12 V 2a IV", Doc: "a pulse of a standard: what is not said of a surge is that pulse's, on top of what its net works at; the command envelopes lists them"},
	{Key: "surges.*.voltage", Shape: field.Value, Unit: quantity.Volt, Doc: "open-circuit peak of a surge against ground, the supply included; negative for a reversed connection"},
	{Key: "surges.*.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of the source of a surge"},
	{Key: "surges.*.duration", Shape: field.Value, Unit: quantity.Second, Doc: "how long a surge lasts; the time to a half for an exponential one"},
	{Key: "surges.*.shape", Shape: field.Word, Doc: "shape of a surge; rectangular where nothing is said", Words: []string{"rectangular", "exponential", "half-sine", "triangular"}},
	{Key: "currents.*.measures", Shape: field.Word, Doc: "what the reading is meant to be: what the load takes, all the time; all that is drawn from the supply, electronics included; what a switch carries while it is on",
		Words: []string{"load", "supply", "switch"}},
	{Key: "currents.*.sampling", Shape: field.Word, Doc: "whether the reading is taken all the time, or only at instants at which the current runs through the shunt",
		Words: []string{"continuous", "synchronous"}},
	{Key: "currents.*.includes", Shape: field.Names, Doc: "small consumers whose current is meant to be in the reading"},

	{Key: "switching.*.between", Shape: field.Names, Doc: "the two nets that a net is switched between"},
	{Key: "switching.*.frequency", Shape: field.Value, Unit: quantity.Hertz, Doc: "switching frequency"},
	{Key: "switching.*.edge", Shape: field.AtMost, Unit: quantity.VoltPerSecond, Doc: "steepest edge"},

	{Key: "goals.*.error", Shape: field.Goal, Unit: quantity.Ratio, Doc: "largest error of the reported current that is allowed"},
	{Key: "goals.*.at", Shape: field.Value, Unit: quantity.Amp, Doc: "current from which upward the goal applies"},
	{Key: "goals.*.method", Shape: field.Word, Doc: "how errors add up", Words: []string{"worst-case", "rss"}},
	{Key: "goals.*.trip-only", Shape: field.Flag, Doc: "whether the block only feeds a trip: its output may stop at either end of its swing"},

	{Key: "converters.*.range", Shape: field.Allowed, Unit: quantity.Volt, Says: "0 V .. V3V3", Doc: "voltages that a converter on a net reads"},
	{Key: "converters.*.bits", Shape: field.Count, Doc: "bits of the converter"},
	{Key: "converters.*.scale", Shape: field.Value, Unit: quantity.VoltPerAmp, Says: "50 mV/A", Doc: "volts per ampere that the firmware takes"},
	{Key: "converters.*.zero", Shape: field.Level, Unit: quantity.Volt, Says: "VREF / 2", Doc: "voltage that the firmware takes for no current"},

	{Key: "converters.*.of", Shape: field.Text, Doc: "the shunt whose current the firmware takes from this net, or the amplifier across it"},

	{Key: "senses.*.element", Shape: field.Text, Doc: "what the amplifier stands across where it is no shunt that the netlist shows as a resistor: a winding, a transistor"},
	{Key: "senses.*.shunt", Shape: field.Word, Doc: "where the shunt of the amplifier is: drawn in the netlist, inside the part, or on another board", Words: []string{"drawn", "on-chip", "remote"}},
	{Key: "senses.*.sums", Shape: field.Names, Doc: "the shunts that one amplifier adds up by intention"},
	{Key: "senses.*.inverted", Shape: field.Flag, Doc: "whether the output is meant to fall as the current rises"},
	{Key: "senses.*.unused", Shape: field.Flag, Doc: "whether the channel is left unused"},
	{Key: "senses.*.group", Shape: field.Text, Doc: "a name that channels which are meant to be alike share; one with a name of its own is held against no other"},
	{Key: "senses.*.differs.part", Shape: field.Flag, Doc: "whether the channel has another part than those like it by intention"},
	{Key: "senses.*.differs.gain", Shape: field.Flag, Doc: "whether the channel has another gain than those like it by intention"},
	{Key: "senses.*.differs.shunt", Shape: field.Flag, Doc: "whether the channel has another shunt than those like it by intention"},
	{Key: "senses.*.differs.filter", Shape: field.Flag, Doc: "whether the channel has other filter resistors than those like it by intention"},
	{Key: "senses.*.differs.capacitor", Shape: field.Flag, Doc: "whether the channel has other filter capacitors than those like it by intention"},
	{Key: "senses.*.differs.reference", Shape: field.Flag, Doc: "whether the channel has another reference than those like it by intention"},
	{Key: "senses.*.differs.polarity", Shape: field.Flag, Doc: "whether the channel has another slope than those like it by intention"},
	{Key: "converters.*.input-resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance from the input of the converter to node 0"},
	{Key: "converters.*.leakage", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current into or out of the input of the converter"},
	{Key: "converters.*.survival", Shape: field.Allowed, Unit: quantity.Volt, Says: "-0.3 V .. V3V3 + 0.3 V", Doc: "voltages at the input of the converter that do no damage"},
	{Key: "converters.*.survival-current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current forced into the input of the converter, beyond its survival voltages, that does no damage"},
	{Key: "converters.*.sample-after", Shape: field.Value, Unit: quantity.Second, Doc: "time from the last step of the current to the sample"},
	{Key: "converters.*.reference", Shape: field.Text, Doc: "the net that the converter measures against, where its range ends at another"},
	{Key: "converters.*.sample-after-edge", Shape: field.Value, Unit: quantity.Second, Doc: "time from the last edge of a switched net to the sample"},

	{Key: "monitors.*.range", Shape: field.Value, Unit: quantity.Volt, Doc: "full scale that a digital monitor is set to"},
	{Key: "monitors.*.shunt", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of the shunt that the firmware reckons with, what the input network takes included"},
	{Key: "monitors.*.trip", Shape: field.Value, Unit: quantity.Amp, Doc: "current at which a digital monitor raises its alert"},
	{Key: "converters.*.first-read", Shape: field.Value, Unit: quantity.Second, Doc: "time from the supply being in its range to the first reading that counts, a zero calibration included"},

	{Key: "trips.*.net", Shape: field.Text, Doc: "the net that a converter or firmware compares with the threshold"},
	{Key: "trips.*.comparator", Shape: field.Text, Doc: "the comparator, where one is drawn and the trip is not called by its path"},
	{Key: "trips.*.threshold", Shape: field.Value, Unit: quantity.Volt, Says: "1.2 V +- 2 %", Doc: "threshold against node 0, where the netlist does not make it: that of a converter with all its tolerances"},
	{Key: "trips.*.above", Shape: field.Goal, Unit: quantity.Amp, Doc: "size of the current up to which it must not trip, where that is not the whole range"},
	{Key: "trips.*.below", Shape: field.Goal, Unit: quantity.Amp, Doc: "size of the current by which it must have tripped, where that is not the one that does damage"},
	{Key: "trips.*.delay", Shape: field.AtMost, Unit: quantity.Second, Doc: "longest time from the decision to a current that no longer rises: converter, firmware, gate drive, turn-off"},
	{Key: "trips.*.blanking", Shape: field.Value, Unit: quantity.Second, Doc: "time for which it waits before it acts"},
	{Key: "trips.*.glitch", Shape: field.AtMost, Unit: quantity.Second, Doc: "longest disturbance that it must ride through"},
	{Key: "trips.*.noise", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest noise and ripple at the input of the comparator, peak to peak"},
	{Key: "trips.*.latched", Shape: field.Flag, Doc: "whether it stays until it is reset: then it cannot chatter, and a wrong one at the start stays as well"},
	{Key: "trips.*.pull-up", Shape: field.Flag, Doc: "whether what reads the comparator pulls its output up"},

	{Key: "calibration.*.offset", Shape: field.Flag, Doc: "whether the offset is calibrated"},
	{Key: "calibration.*.offset.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the offset is calibrated"},
	{Key: "calibration.*.offset.common-mode", Shape: field.Value, Unit: quantity.Volt, Doc: "common mode at which the offset is calibrated"},
	{Key: "calibration.*.offset.supply", Shape: field.Value, Unit: quantity.Volt, Doc: "supply at which the offset is calibrated"},
	{Key: "calibration.*.gain", Shape: field.Flag, Doc: "whether the gain is calibrated"},
	{Key: "calibration.*.gain.temperature", Shape: field.Value, Unit: quantity.Celsius, Doc: "temperature at which the gain is calibrated"},
	{Key: "calibration.*.gain.current", Shape: field.Value, Unit: quantity.Amp, Doc: "current at which the gain is calibrated"},

	{Key: "states.*.measuring", Shape: field.Flag, Doc: "whether the readings count in this state"},
	{Key: "states.*.rails.*", Shape: field.Value, Unit: quantity.Volt, Doc: "voltage of a net in this state"},

	{Key: "variants.*.absent", Shape: field.Names, Doc: "elements that this assembly variant does not place"},
	{Key: "variants.*.placed", Shape: field.Names, Doc: "elements that this variant places, of those that the drawing does not"},
	{Key: "variants.*.wires", Shape: field.Names, Doc: "elements in whose place this variant has a piece of wire, such as a link of 0 ohm"},
	{Key: "variants.*.values.*", Shape: field.Text, Says: "10 ohm", Doc: "value of an element in this variant"},
	{Key: "variants.*.parts.*", Shape: field.Text, Doc: "part record of an element in this variant"},
	{Key: "states.*.standby-current", Shape: field.Goal, Unit: quantity.Amp, Doc: "largest current that the inputs of one amplifier may draw in this state"},
	{Key: "domains.*.nets", Shape: field.Names, Doc: "nets of one ground domain: its ground, its rails"},
	{Key: "domains.*.accessible", Shape: field.Flag, Doc: "whether people can touch what is in the domain"},
	{Key: "ties.*.joins", Shape: field.Names, Doc: "nets that something outside of the netlist joins: a chassis, a cable, a single-point tie"},
	{Key: "ties.*.resistance", Shape: field.Value, Unit: quantity.Ohm, Doc: "resistance of that connection"},

	{Key: "tolerances.resistors", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of resistors that state none"},
	{Key: "tolerances.capacitors", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of capacitors that state none"},

	{Key: "elements.*.tolerance", Shape: field.AtMost, Unit: quantity.Ratio, Doc: "tolerance of the value of an element"},
	{Key: "elements.*.temperature-coefficient", Shape: field.AtMost, Unit: quantity.PerKelvin, Doc: "largest drift of the value, from 25 degC"},
	{Key: "elements.*.drop", Shape: field.Value, Unit: quantity.Volt, Says: "0.5 V .. 1.2 V", Doc: "forward drop of a diode or body diode"},
	{Key: "elements.*.on-resistance", Shape: field.Value, Unit: quantity.Ohm, Says: "1.5 mohm .. 4 mohm", Doc: "resistance of a closed switch or transistor, or of a diode that conducts, in series with its drop"},
	{Key: "elements.*.base-current", Shape: field.AtMost, Unit: quantity.Amp, Doc: "largest current between base and emitter of a bipolar transistor"},
	{Key: "elements.*.exclusive-with", Shape: field.Names, Doc: "elements that are never closed together with this one"},
	{Key: "elements.*.current", Shape: field.Value, Unit: quantity.Amp, Doc: "current from the first to the second node"},
	{Key: "elements.*.power", Shape: field.AtMost, Unit: quantity.Watt, Doc: "largest continuous power"},
	{Key: "elements.*.voltage", Shape: field.AtMost, Unit: quantity.Volt, Doc: "largest continuous voltage"},
	{Key: "elements.*.derating.from", Shape: field.Value, Unit: quantity.Celsius, Doc: "ambient temperature up to which the whole power is allowed"},
	{Key: "elements.*.derating.to", Shape: field.Value, Unit: quantity.Celsius, Doc: "ambient temperature at which no power is left, on a straight line from there"},
	{Key: "elements.*.pulse-power", Shape: field.Points, Unit: quantity.Watt, XUnit: quantity.Second, Doc: "largest power of one pulse, by its duration"},
	{Key: "elements.*.pulse-energy", Shape: field.Points, Unit: quantity.Joule, XUnit: quantity.Second, Doc: "largest energy of one pulse, maybe by its duration"},
	{Key: "elements.*.inductance", Shape: field.Value, Unit: quantity.Henry, Doc: "inductance of a shunt"},
	{Key: "elements.*.terminals", Shape: field.Count, Doc: "2, or 4 where a shunt has separate sense terminals"},
	{Key: "elements.*.placed", Shape: field.Flag, Doc: "false for an element that is drawn and not placed on the board"},
	{Key: "elements.*.package", Shape: field.Text, Doc: "the package of a part, one of those that its record names"},
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
