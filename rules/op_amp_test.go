package rules_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// An invented part; the numbers are like no catalogue's.
const bargeOp = `
[[part]]
name = "barge-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2 V .. 60 V", current = "0.3 mA" }
bias = { max = "40 nA" }
output = { low = "0 V", high = "supply - 0 V" }
offset = { max = "1.7 mV" }
`

const opDeck = `* shuntwright: rails.BUS = "20 V .. 29 V"
* shuntwright: rails.VS = "40 V exact"
* shuntwright: rails.NEG = "-40 V exact"
* shuntwright: rails.VM = "2.5 V +- 1 %"
* shuntwright: tolerances.resistors = "1 %"
RVS VS NEG 1k
RVM VM 0 1k
RL LOAD 0 4
`

// measured is what a probe hands out of block XA.
func measured(t testing.TB, d *design.Design, of func(*rules.Bench) quantity.Quantity) (q quantity.Quantity) {
	t.Helper()
	judged(t, d, func(p *rules.Bench) { q = of(p); p.Carry(q) })
	return q
}

// The output as the solver of voltages has it, whose nullors are equations of another system, an island with currents, rails
// and switches: here the rails of the op amps are so far away that no output stops.
func TestOpAmpOutputIsTheVoltageThere(t *testing.T) {
	flows := "* shuntwright: currents.RSH = { range = \"-3 A .. 5 A\", from = \"BUS\" }\nRSH BUS LOAD 10m\n"
	for name, cards := range map[string]string{
		"difference amplifier":  flows + "R1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p VM 20k\nXA p n out NEG VS barge-op",
		"the other way round":   flows + "R1 BUS n 1k\nR2 n out 20k\nR3 LOAD p 1k\nR4 p VM 20k\nXA p n out NEG VS barge-op",
		"unequal":               flows + "R1 LOAD n 1k\nR2 n out 15k\nR3 BUS p 2k\nR4 p VM 20k\nXA p n out NEG VS barge-op",
		"behind a divider":      flows + "R1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p m 19k\nRA VM m 2k\nRB m 0 2k\nXA p n out NEG VS barge-op",
		"two op amps":           flows + "XU LOAD n1 o1 NEG VS barge-op\nR1 VM n1 10k\nR2 n1 o1 1k\nR3 o1 n 1k\nR4 n out 10k\nXA BUS n out NEG VS barge-op",
		"low side":              "* shuntwright: currents.RSH = { range = \"-3 A .. 5 A\", from = \"LO\" }\nRSH LO 0 10m\nRX BUS LO 6\nRG n 0 1k\nR2 n out 20k\nRF LO p 1k\nXA p n out NEG VS barge-op",
		"low side, inverting":   "* shuntwright: currents.RSH = { range = \"-3 A .. 5 A\", from = \"LO\" }\nRSH LO 0 10m\nRX BUS LO 6\nRG n LO 1k\nR2 n out 20k\nXA 0 n out NEG VS barge-op",
		"without declared flow": "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p VM 20k\nXA p n out NEG VS barge-op",
	} {
		t.Run(name, func(t *testing.T) {
			d := load(t, opDeck+cards, bargeOp)
			q := measured(t, d, func(p *rules.Bench) quantity.Quantity { return p.Out(design.Operating) })
			out, _ := d.Net("out")
			neg, _ := d.Net("NEG")
			want := volt.New(d).Bound(volt.Across(out, neg), design.Operating)
			near := func(a, b float64) bool { return math.Abs(a-b) < 1e-5 } // the resistors load what no current is declared of
			if !near(q.Seen.Lo, want.Seen.Lo) || !near(q.Seen.Hi, want.Seen.Hi) || !near(q.Nom, want.Nom) {
				t.Errorf("seen %v, nominal %v; the solver of voltages has %v, %v", q.Seen, q.Nom, want.Seen, want.Nom)
			}
			// Of a dozen causes not all corners are visited: what is left out is counted on top.
			if q.Sound.Lo > want.Sound.Lo+1e-5 || q.Sound.Hi < want.Sound.Hi-1e-5 || q.Sound.Width() > 1.05*want.Sound.Width() {
				t.Errorf("sound %v; the solver of voltages has %v", q.Sound, want.Sound)
			}
		})
	}
}

// Gain, zero and scale of stages whose formulas are known, with resistors of 1 %.
func TestOpAmpGainAndZero(t *testing.T) {
	two := func(lo, hi float64) [2]float64 { return [2]float64{lo, hi} }
	for _, c := range []struct {
		name, cards       string
		gain, zero, scale [2]float64
	}{
		{"low side", "* shuntwright: currents.RSH = { range = \"0 A .. 5 A\", from = \"LO\" }\nRSH LO 0 10m\nRX BUS LO 6\nRG n 0 1k\nR2 n out 20k\nXA LO n out 0 VS barge-op",
			two(1+20*.99/1.01, 1+20*1.01/.99), two(0, 0), two(.0099*(1+20*.99/1.01), .0101*(1+20*1.01/.99))},
		{"low side, current the other way", "* shuntwright: currents.RSH = { range = \"0 A .. 5 A\", from = \"0\" }\nRSH LO 0 10m\nRX BUS LO 6\nRG n LO 1k\nR2 n out 20k\nXA 0 n out 0 VS barge-op",
			two(20*.99/1.01, 20*1.01/.99), two(0, 0), two(.0099*20*.99/1.01, .0101*20*1.01/.99)},
		{"biased", "* shuntwright: currents.RSH = { range = \"0 A .. 5 A\", from = \"LO\" }\nRSH LO 0 10m\nRX BUS LO 6\nR1 n 0 1k\nR2 n out 20k\nR3 LO p 1k\nR4 p VM 20k\nXA p n out 0 VS barge-op",
			two(20.2/21.19*(1+20*.99/1.01)*0+19.8/(19.8+1.01)*(1+20*.99/1.01), 20.2/(20.2+.99)*(1+20*1.01/.99)),
			two(2.475*(.99/(20.2+.99))*(1+20*.99/1.01), 2.525*(1.01/(19.8+1.01))*(1+20*1.01/.99)),
			two(.0099*19.8/(19.8+1.01)*(1+20*.99/1.01), .0101*20.2/(20.2+.99)*(1+20*1.01/.99))},
		{"through a transistor", "* shuntwright: currents.RSH = { range = \"0 A .. 5 A\", from = \"BUS\" }\nRSH BUS LOAD 10m\nRI BUS n 100\nRP LOAD p 100\nQP o g n pq\n.model pq PNP\nRG out g 10\nRO o 0 5k\nXA p n out 0 VS barge-op",
			two(50*.99/1.01, 50*1.01/.99), two(0, 0), two(.0099*50*.99/1.01, .0101*50*1.01/.99)},
	} {
		t.Run(c.name, func(t *testing.T) {
			deck := opDeck
			if !strings.Contains(c.cards, "LOAD") {
				deck = strings.Replace(deck, "RL LOAD 0 4\n", "RL BUS 0 4\n", 1)
			}
			d := load(t, strings.Replace(strings.Replace(deck, "* shuntwright: rails.NEG = \"-40 V exact\"\n", "", 1), "RVS VS NEG 1k", "RVS VS 0 1k", 1)+c.cards, bargeOp)
			for what, want := range map[string][2]float64{"gain": c.gain, "zero": c.zero, "scale": c.scale} {
				q := measured(t, d, func(p *rules.Bench) quantity.Quantity {
					switch what {
					case "gain":
						return p.Part("gain")
					case "scale":
						return p.Scale()
					}
					return p.Zero(design.Operating)
				})
				if math.Abs(q.Sound.Lo-want[0]) > 1e-9 || math.Abs(q.Sound.Hi-want[1]) > 1e-9 || q.Seen != q.Sound {
					t.Errorf("%s: seen %v, sound %v, want %v", what, q.Seen, q.Sound, want)
				}
			}
		})
	}
}

// A resistor network: its members' ratios are off by the tracking at most, whatever its tolerance is.
func TestMatchedResistorsKeepTheirRatio(t *testing.T) {
	cards := "* shuntwright: currents.RSH = { range = \"0 A .. 5 A\", from = \"LO\" }\nRSH LO 0 10m\nRX BUS LO 6\nRG n 0 1k\nR2 n out 20k\nXA LO n out NEG VS barge-op\n"
	deck := strings.Replace(opDeck, "RL LOAD 0 4\n", "", 1)
	for _, said := range []string{
		`RG = { matched-with = ["R2"], tracking = "0.2 %" }`, `R2 = { matched-with = ["RG"], tracking = "0.2 %" }`,
		"RG = { matched-with = [\"R2\"], tracking = \"0.2 %\" }\n* shuntwright: elements.R2.matched-with = [\"RG\"]",
		"RG = { matched-with = [\"R2\"] }\n* shuntwright: elements.R2.tracking = \"0.2 %\"",
	} {
		d := load(t, deck+cards+"* shuntwright: elements."+said, bargeOp)
		q := measured(t, d, func(p *rules.Bench) quantity.Quantity { return p.Part("gain") })
		if lo, hi := 1+20*.999/1.001, 1+20*1.001/.999; math.Abs(q.Seen.Lo-lo) > 1e-9 || math.Abs(q.Seen.Hi-hi) > 1e-9 {
			t.Errorf("%s: %v, want %v .. %v", said, q.Seen, lo, hi)
		}
	}
}

// A netlist whose op amps sense nothing says what was looked for.
func TestNoOpAmpBlock(t *testing.T) {
	d := load(t, "R1 b n 1k\nR2 n out 20k\nXA 0 n out 0 VS barge-op\nV1 VS 0 40\nV2 b 0 1", bargeOp)
	for _, r := range rules.Judge(d, nil).Results {
		if r.Rule == "netlist-blocks" && strings.Contains(r.Message, "no op amp follows both ends of a shunt") {
			return
		}
	}
	t.Error("nothing is said of the op amp")
}
