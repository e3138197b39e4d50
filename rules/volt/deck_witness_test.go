package volt_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// deckOf is the witness deck of the high end of a net's bound.
func deckOf(t *testing.T, deck, records, of string) string {
	t.Helper()
	d := load(t, deck, records)
	s := volt.New(d)
	f := volt.At(net(t, d, of))
	lines, err := s.Deck(f, design.Operating, witnessed(t, s, f, design.Operating), true)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}

// The whole of a deck: what is held, open switches, a diode that conducts and one that blocks. The end is 58 V + 1 V, and
// 20 A in the 1 nohm that volt counts for a diode without resistance.
func TestWitnessDeck(t *testing.T) {
	got := deckOf(t, `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: currents.RS = { range = "-20 A .. 20 A", from = "PH" }
* shuntwright: elements.MH = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm", exclusive-with = ["ML"] }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm" }
.model fet NMOS
MH BUS gh PH fet
ML PH gl 0 fet
RS PH MOT 1m
LM MOT N 1m`, "", "PH")
	want := `witness deck: voltage of PH, high end, operating
* One state that attains this end: a plain DC network, every switch and diode as it stands there.
* value: v(PH) = 59 V
* It is evidence for review and no safety certificate. Real circuits at these levels can be hazardous:
* follow local codes and have a qualified person review work on them.
* what holds a voltage
V_BUS BUS 0 58
* body diode of ML blocks: left out
* body diode of MH conducts: its drop
V_body_diode_of_MH PH BUS 1
* resistors, closed switches, wires
* MH off: left out
* ML off: left out
RS PH MOT 0.001
* the implied source of the current declared for RS, -20 A
I_implied_source_of_RS 0 MOT 20
.op
.end`
	if got != want {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
}

// Names that a simulator could not read, or that are taken, have substitutes; no two cards share a name.
func TestWitnessDeckNames(t *testing.T) {
	got := deckOf(t, `* shuntwright: tolerances.resistors = "0 %"
V1 "PHASE A" 0 10
R1 "PHASE A" n1 1k
X1 n1 poly cell
R_X1_R1 poly 00 1k
R_R_X1_R1 00 0 1k
.subckt cell p q
R1 p q 1k
.ends`, "", "poly")
	for _, want := range []string{`* node n2: net "PHASE A"`, `net "poly"`, `net "00"`} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
	var names []string
	for _, line := range strings.Split(got, "\n")[1:] {
		if line[0] != '*' && line[0] != '.' {
			names = append(names, strings.ToLower(strings.Fields(line)[0]))
		}
	}
	slices.Sort(names)
	if len(slices.Compact(slices.Clone(names))) != len(names) {
		t.Errorf("twice the same name: %v", names)
	}
}

// A law with several terms is one source a term, and what follows a current follows a source.
func TestWitnessDeckOfControlledSources(t *testing.T) {
	const base = "* shuntwright: tolerances.resistors = \"0 %\"\nV1 a 0 10\nVM a b 0\nR1 b 0 1k\nRL c 0 1k\n"
	for law, cards := range map[string][]string{
		"B1 c 0 V=2*v(a)-3*v(b)+100*i(VM)+0.5": {"E_B1 c ", "E_B1_2 ", "H_B1 ", "V_B1 "},
		"B1 c 0 I=1m*v(a)+2*i(VM)-1m":          {"G_B1 c 0 a 0 ", "F_B1 c 0 VM 2", "I_B1 c 0 -0.001"},
		"F1 0 c VM 3":                          {"F1 0 c VM 3"},
		"H1 c 0 VM 50":                         {"H1 c 0 VM 50"},
	} {
		got := deckOf(t, base+law, "", "c")
		for _, want := range cards {
			if !strings.Contains(got, "\n"+want) {
				t.Errorf("%s: no %q in\n%s", law, want, got)
			}
		}
	}
}

// The decks are netlists that shuntwright reads itself; their answer is the end they were written for.
func TestWitnessDeckIsReadAgain(t *testing.T) {
	got := deckOf(t, `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: elements.DF.drop = "0.5 V .. 1 V"
* shuntwright: elements.LB.current = "0 A .. 2 A"
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm" }
.model fet NMOS
.model free D
LB BUS COIL 80m
RS COIL SW 20m
DF SW BUS free
MB SW g 0 0 fet`, "", "SW")
	_, cards, _ := strings.Cut(strings.TrimSuffix(got, ".end"), "\n")
	q := voltage(t, load(t, cards, ""), "SW")
	meets(t, "V(SW) from its deck", q.Seen, 59, 59, 1e-6)
}

// Without a state there is no deck, and the reason is said.
func TestNoWitnessDeck(t *testing.T) {
	d := load(t, "* shuntwright: rails.BUS = \"40 V .. 58 V\"\n* shuntwright: elements.LB.current = \"0 A .. 2 A\"\n.model fet NMOS\nLB BUS A 80m\nMB A g 0 0 fet\nR1 P Q 1", "")
	s := volt.New(d)
	for name, want := range map[string]string{"A": "nothing limits A", "P": "missing: rails.", "0": "by definition"} {
		f := volt.At(net(t, d, name))
		_, err := s.Deck(f, design.Operating, s.Bound(f, design.Operating), true)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
}
