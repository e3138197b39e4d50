package volt

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
)

const inLine = `an in-line shunt behind a half bridge
* shuntwright: rails.BUS = "0 V .. 70 V"
* shuntwright: currents.RS = { range = "-160 A .. 160 A", from = "PH" }
* shuntwright: elements.MH = { drop = "0.5 V .. 1.2 V", on-resistance = "1.5 mohm .. 4 mohm", exclusive-with = ["ML"] }
* shuntwright: elements.ML = { drop = "0.5 V .. 1.2 V", on-resistance = "1.5 mohm .. 4 mohm" }
.model fet NMOS
MH BUS gh PH PH fet
ML PH gl 0 0 fet
RS PH MOT 1m
LM MOT N 1m
RF1 PH INP 27
RF2 MOT INM 0.1
RI INP INM 6k
II INM 0 10u
RB INP 0 1G
`

// The answer at any combination of inputs is the one that a search through every state of the diodes finds.
func TestAnswersAreTheConsistentState(t *testing.T) {
	set := source.NewSet()
	cards, _ := parse.Read(set, set.Add("deck", []byte(inLine), source.Span{}), parse.Options{})
	d, diags := design.Bind(set, cards, &part.Library{}, nil)
	if len(diags) > 0 {
		t.Fatal(diags[0].Text())
	}
	inm, _ := d.Net("INM")
	is := New(d).build([]circuit.Net{inm}, design.Operating, false)
	at := is.place(inm)
	r := rand.New(rand.NewPCG(3, 4))
	judged := 0
	for range 3000 {
		x := make([]float64, len(is.inputs))
		for i, q := range is.inputs {
			lo, hi := max(q.Sound.Lo, -50), min(q.Sound.Hi, 200)
			switch states := q.Causes()[0].States; {
			case states != nil:
				x[i] = states[r.IntN(len(states))]
			case r.IntN(2) == 0:
				x[i] = [2]float64{lo, hi}[r.IntN(2)]
			default:
				x[i] = lo + r.Float64()*(hi-lo)
			}
		}
		got := is.voltage(at, x)
		if got != got && is.excluded(x) {
			continue
		}
		var want []float64
		for bits := range 1 << len(is.diodes) {
			for k := range is.diodes {
				is.work.on[k] = bits>>k&1 == 1
			}
			if is.assemble(x) && is.contradiction(x) < 0 {
				want = append(want, is.work.x[at])
			}
		}
		is.work.last = nil
		if len(want) != 1 || math.Abs(got-want[0]) > 1e-6 {
			t.Fatalf("at %v: %v, the search finds %v", x, got, want)
		}
		judged++
	}
	if judged < 1000 {
		t.Errorf("only %d were no excluded state", judged)
	}
}
