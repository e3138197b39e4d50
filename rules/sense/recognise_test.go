package sense_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// Invented parts; the numbers are like no catalogue's.
const records = `
[[part]]
name = "quay-sense"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "21 V/V +- 0.4 %"
direction = "bidirectional"

[[part.code]]
suffix = "-B"
gain = "42 V/V +- 0.4 %"

[[part]]
name = "quay-twin"
role = "sense-amplifier"
pins = ["out", "in-", "in+", "ground", "x5", "x6", "x7", "supply"]
gain = "11 V/V +- 0.4 %"

[part.units]
a = { out = 1, "in-" = 2, "in+" = 3 }
b = { out = 7, "in-" = 6, "in+" = 5 }
`

const rails = `* shuntwright: rails.BUS = "20 V .. 29 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V exact"
RL LOAD 0 4
`

func names(list []design.Element) string {
	var out []string
	for _, e := range list {
		out = append(out, e.Path())
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

func TestShuntIsFound(t *testing.T) {
	for _, c := range []struct{ name, deck, shunt, plus, minus string }{
		{"at the pins", "RSH BUS LOAD 1m\nXA BUS LOAD out 0 VM V5 quay-sense", "RSH", "", ""},
		{"swapped", "RSH BUS LOAD 1m\nXA LOAD BUS out 0 VM V5 quay-sense", "RSH", "", ""},
		{"behind resistors", "RSH BUS LOAD 1m\nRF1 BUS p 10\nRF2 LOAD m 10\nXA p m out 0 VM V5 quay-sense", "RSH", "RF1", "RF2"},
		{"behind a resistor in one leg", "RSH BUS LOAD 1m\nRF1 BUS p 10\nXA p LOAD out 0 VM V5 quay-sense", "RSH", "RF1", ""},
		{"behind a ferrite, a link and a resistor", "RSH BUS LOAD 1m\nLF1 BUS p1 600n\nRZ p1 p2 0\nRF1 p2 p 10\nRF2 LOAD m 10\nXA p m out 0 VM V5 quay-sense",
			"RSH", "LF1 RF1 RZ", "RF2"},
		{"two in parallel", "RSH1 BUS LOAD 1m\nRSH2 LOAD BUS 2m\nXA BUS LOAD out 0 VM V5 quay-sense", "RSH1 RSH2", "", ""},
		{"a filter with a capacitor between and to ground",
			"RSH BUS LOAD 1m\nRF1 BUS p 10\nRF2 LOAD m 10\nCD p m 1u\nC1 p 0 100n\nC2 m 0 100n\nXA p m out 0 VM V5 quay-sense", "RSH", "RF1", "RF2"},
		{"bias resistors to a rail", "RSH BUS LOAD 1m\nRF1 BUS p 10\nRF2 LOAD m 10\nRB1 p V5 1meg\nRB2 m V5 1meg\nXA p m out 0 VM V5 quay-sense", "RSH", "RF1", "RF2"},
		{"a resistor across the inputs", "RSH BUS LOAD 1m\nRF1 BUS p 10\nRF2 LOAD m 10\nRD p m 100k\nXA p m out 0 VM V5 quay-sense", "RSH", "RF1", "RF2"},
		{"low side", "RX BUS RET 4\nRSH RET 0 5m\nXA RET 0 out 0 VM V5 quay-sense", "RSH", "", ""},
		{"low side with a filter", "RX BUS RET 4\nRSH RET 0 5m\nRF1 RET p 22\nRF2 0 m 22\nXA p m out 0 VM V5 quay-sense", "RSH", "RF1", "RF2"},
		{"the smaller of two", "RSH BUS LOAD 1m\nRBIG BUS LOAD2 20\nRY LOAD2 LOAD 0.5\nXA BUS LOAD out 0 VM V5 quay-sense", "RSH", "", ""},
		{"the one whose current is declared", "* shuntwright: currents.RS2 = { range = \"0 A .. 3 A\", from = \"MID\" }\nRX BUS A 1\nRS1 A MID 1m\nRS2 MID LOAD 5m\nXA A LOAD out 0 VM V5 quay-sense",
			"RS2", "RS1", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := block(t, load(t, rails+c.deck, records), "XA")
			if b.Broken != "" || names(b.Shunt) != c.shunt || names(b.Plus.Series) != c.plus || names(b.Minus.Series) != c.minus {
				t.Errorf("shunt %q, legs %q and %q, %q", names(b.Shunt), names(b.Plus.Series), names(b.Minus.Series), b.Broken)
			}
		})
	}
}

func TestNoShunt(t *testing.T) {
	for name, deck := range map[string]string{
		"the same net":              "RSH BUS LOAD 1m\nXA BUS BUS out 0 VM V5 quay-sense",
		"both inputs on one side":   "RSH BUS MID 1m\nRQ MID LOAD 1m\nRF1 MID p 10\nRF2 MID m 10\nCD p m 1u\nXA p m out 0 VM V5 quay-sense",
		"one input on another rail": "RSH BUS LOAD 1m\nXA LOAD V5 out 0 VM V5 quay-sense",
		"one input nowhere":         "RSH BUS LOAD 1m\nXA LOAD nc out 0 VM V5 quay-sense",
	} {
		t.Run(name, func(t *testing.T) {
			b := block(t, load(t, rails+deck, records), "XA")
			if len(b.Shunt) > 0 || b.Broken == "" {
				t.Errorf("shunt %q, legs %q and %q", names(b.Shunt), names(b.Plus.Series), names(b.Minus.Series))
			}
		})
	}
}

func TestParallelShuntsAreOneResistance(t *testing.T) {
	b := block(t, load(t, "* shuntwright: tolerances.resistors = \"1 %\"\n"+rails+"RSH1 BUS LOAD 3m\nRSH2 LOAD BUS 6m\nXA BUS LOAD out 0 VM V5 quay-sense", records), "XA")
	q := b.ShuntResistance()
	if q.Nom < 1.99999e-3 || q.Nom > 2.00001e-3 || q.Seen.Lo < 1.9799e-3 || q.Seen.Hi > 2.0201e-3 {
		t.Errorf("3 mohm and 6 mohm of 1 %% are %v, %v", q.Nom, q.Seen)
	}
}

// An amplifier in a subcircuit of its own, its filter there and its shunt outside.
func TestHierarchyIsCrossed(t *testing.T) {
	d := load(t, rails+`.subckt channel s1 s2 o g v
RF1 s1 p 10
RF2 s2 m 10
CD p m 1u
XA p m o g VM v quay-sense
.ends
.global VM
RSH BUS LOAD 1m
XC1 BUS LOAD out1 0 V5 channel
RSH2 BUS LOAD2 2m
RL2 LOAD2 0 8
XC2 BUS LOAD2 out2 0 V5 channel`, records)
	for name, shunt := range map[string]string{"XC1.XA": "RSH", "XC2.XA": "RSH2"} {
		b := block(t, d, name)
		if names(b.Shunt) != shunt || names(b.Plus.Series) != name[:4]+"RF1" || names(b.Minus.Series) != name[:4]+"RF2" {
			t.Errorf("%s: shunt %q, legs %q and %q, %q", name, names(b.Shunt), names(b.Plus.Series), names(b.Minus.Series), b.Broken)
		}
	}
}

// The port names of a .subckt of the part's name give the order of its pins, where they are names of roles.
func TestPortNamesGiveThePinOrder(t *testing.T) {
	d, diags := bind(rails+`.subckt quay-sense supply out in- in+ ref ground
Rnever in+ in- 1
.ends
RSH BUS LOAD 1m
XA V5 out LOAD BUS VM 0 quay-sense`, records)
	if len(diags) == 0 || slices.ContainsFunc(diags, func(d source.Diagnostic) bool { return d.Rule != "netlist-subcircuit" }) {
		t.Errorf("the record's other order is reported as %v", diags)
	}
	b := block(t, d, "XA")
	for role, want := range map[string]string{"in+": "BUS", "in-": "LOAD", "supply": "V5", "ground": "0", "ref": "VM", "out": "out"} {
		if n, ok := b.Pin(role); !ok || d.Circuit.NetName(n) != want {
			t.Errorf("%s is %s, want %s", role, d.Circuit.NetName(n), want)
		}
	}
	if names(b.Shunt) != "RSH" {
		t.Errorf("shunt %q, %q", names(b.Shunt), b.Broken)
	}
}

func TestUnitsOfOnePackage(t *testing.T) {
	d := load(t, strings.Replace(rails, "VM", "BUS2", 1)+"RB2 BUS2 0 1k\nRSH1 BUS LOAD 1m\nRSH2 BUS LOAD2 2m\nRL2 LOAD2 0 8\nXA out1 LOAD BUS 0 BUS LOAD2 out2 V5 quay-twin", records)
	var got []string
	for b := range sense.Blocks(d) {
		got = append(got, b.Name()+" "+names(b.Shunt)+" "+d.Circuit.NetName(b.Output.Pin))
	}
	if want := []string{"XA:a RSH1 out1", "XA:b RSH2 out2"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestGainCodes(t *testing.T) {
	d := load(t, rails+"RSH BUS LOAD 1m\nXA BUS LOAD out 0 VM V5 quay-sense\nXB BUS LOAD out2 0 VM V5 quay-sense-B", records)
	for name, gain := range map[string]float64{"XA": 21, "XB": 42} {
		if q := block(t, d, name).Amp.Part("gain"); q.Nom != gain {
			t.Errorf("the gain of %s is %v", name, q.Nom)
		}
	}
}

// A positive current makes in+ the higher input where it enters there.
func TestSign(t *testing.T) {
	for from, sign := range map[string]float64{"BUS": 1, "LOAD": -1} {
		for _, ends := range []string{"BUS LOAD", "LOAD BUS"} { // exporters order a resistor's nodes at random
			b := block(t, load(t, rails+"* shuntwright: currents.RSH = { range = \"0 A .. 3 A\", from = \""+from+"\" }\nRSH "+ends+" 1m\nXA BUS LOAD out 0 VM V5 quay-sense", records), "XA")
			if b.Sign() != sign {
				t.Errorf("from %s, drawn %s: sign %v", from, ends, b.Sign())
			}
		}
	}
}

// What follows the output, out to the net that a converter reads; what holds the reference; what feeds the supply.
func TestNetworksAroundTheBlock(t *testing.T) {
	d := load(t, rails+"* shuntwright: converters.adc.scale = \"21 mV/A\"\nRSH BUS LOAD 1m\nRS V5 vs 10\nRR VM r 100\nRO out adc 1k\nCO adc 0 10n\nXA BUS LOAD out 0 r vs quay-sense", records)
	b := block(t, d, "XA")
	if names(b.Output.Series) != "RO" || b.Output.Declared != "adc" || d.Circuit.NetName(b.Output.Converter) != "adc" {
		t.Errorf("output %q to %q, declared %q", names(b.Output.Series), d.Circuit.NetName(b.Output.Converter), b.Output.Declared)
	}
	if len(b.References) != 1 || b.References[0].Source != "VM through RR" || names(b.SupplySeries) != "RS" {
		t.Errorf("references %+v, supply through %q", b.References, names(b.SupplySeries))
	}
}

// Whether two cards swap places or a resistor its ends changes nothing.
func TestRecognitionDoesNotHangOnTheDrawing(t *testing.T) {
	cards := []string{"RSH BUS LOAD 1m", "RF1 BUS p 10", "RF2 LOAD m 10", "RB m 0 1meg", "RD p m 100k", "XA p m out 0 VM V5 quay-sense"}
	for turn := range len(cards) * 4 {
		mixed := slices.Concat(cards[turn%len(cards):], cards[:turn%len(cards)])
		for i, c := range mixed {
			if f := strings.Fields(c); c[0] == 'R' && (turn>>1+i)%2 == 1 {
				mixed[i] = strings.Join([]string{f[0], f[2], f[1], f[3]}, " ")
			}
		}
		b := block(t, load(t, rails+strings.Join(mixed, "\n"), records), "XA")
		if names(b.Shunt) != "RSH" || names(b.Plus.Series) != "RF1" || names(b.Minus.Series) != "RF2" {
			t.Fatalf("%q: shunt %q, legs %q and %q, %q", mixed, names(b.Shunt), names(b.Plus.Series), names(b.Minus.Series), b.Broken)
		}
	}
}

// The converter is the nearest one on the way, over branches too, and none behind the output of another amplifier.
func TestConverterIsFound(t *testing.T) {
	const amps = "\nRSH BUS LOAD 1m\nXA BUS LOAD out 0 VM V5 quay-sense\nXB BUS LOAD outb 0 VM V5 quay-sense"
	for cards, want := range map[string]string{
		"RO out adc 1k\nR1 out low 10k\nR2 low 0 10k":                               "adc RO",
		"RO out mid 1k\nRP mid adc 100\nR1 mid 0 10k":                               "adc RO RP",
		"RO out trip 1k\nRP trip adc 100\n* shuntwright: converters.trip.bits = 12": "trip RO",
		"RX out outb 1k\nRB outb adc 1k":                                            "",
		"RB outb adc 1k":                                                            "",
		"RV out VM 1k\nRB VM adc 1k":                                                "",
	} {
		b := block(t, load(t, rails+"* shuntwright: converters.adc.bits = 12"+amps+"\n"+cards+"\nCO adc 0 10n", records), "XA")
		got := b.Output.Declared
		for _, e := range b.Output.Series {
			if got != "" {
				got += " " + e.Path()
			}
		}
		if got != want {
			t.Errorf("%q: %q, want %q", cards, got, want)
		}
	}
}
