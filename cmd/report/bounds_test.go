package report

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// bounded are bounds of every kind on the ferry's deck: with and without a tolerance, loose, without limit, of which nobody
// said anything, a single value, the same in both regimes and not, and a name that nobody would want on a terminal.
func bounded(t *testing.T) *Bounds {
	run := ferry(t)
	n := run.Netlists[0]
	set := n.Report.Design.Src
	cause := func(name string, u quantity.Unit, lo, hi, least, most float64, text string) *quantity.Cause {
		c := &quantity.Cause{Name: name, Unit: u, Nom: (lo + hi) / 2, Seen: quantity.Interval{Lo: lo, Hi: hi}, Sound: quantity.Interval{Lo: least, Hi: most}}
		if text != "" {
			c.At = span(t, set, 1, text)
		}
		return c
	}
	bus := cause("rails.VBUS.operating", quantity.Volt, 44, 55, 44, 55, "VBUS VBUS 0 48")
	storm := cause("rails.VBUS.survival", quantity.Volt, 0, 76, 0, 76, "VBUS VBUS 0 48")
	shunt := cause("RSH_A", quantity.Ohm, 5e-3, 5e-3, 4.75e-3, 5.25e-3, "RSH_A PHASE_A PA 5m")
	shunt.Grade, shunt.Note = quantity.Assumed, "RSH_A: no tolerance declared, 5 % counted"
	amps := cause("currents.RSH_A.range", quantity.Amp, -20, 20, -20, 20, "")
	high := cause("state of MH", quantity.Ratio, 0, 1, 0, 1, "")
	high.States, high.Labels = []float64{1, 0}, []string{"MH on", "MH off"}
	drop := func(rail *quantity.Cause) quantity.Quantity {
		return quantity.Calc("voltage of PA", quantity.Volt, func(x []float64) float64 { return x[0]*x[3] - x[1]*x[2] },
			rail.Of(), shunt.Of(), amps.Of(), high.Of())
	}
	reach := func(q quantity.Quantity, assumed ...string) rules.Reach {
		r := rules.Reach{Quantity: q, Assumed: assumed}
		for high, e := range map[bool]*rules.End{false: &r.Low, true: &r.High} {
			v, far := q.Seen.Lo, q.Seen.Lo-q.Sound.Lo
			if high {
				v, far = q.Seen.Hi, q.Sound.Hi-q.Seen.Hi
			}
			switch {
			case q.Seen.Empty():
				e.Reason = "not declared"
			case math.IsInf(v, 0):
				e.Reason, e.Wider = "nothing limits PA: the current of LB goes on", false
			default:
				e.Shown, e.Wider = true, far > 1e-9
				e.States, e.Deciding = q.Witness(high), q.Deciding(high)
				e.Witness = volt.Witness{Path: []string{"PA", "RSH_A", "PHASE_A", "MH", "VBUS"},
					Diodes: []volt.Diode{{Name: "D1", Conducts: high}, {Name: "body diode of MH", Conducts: false}}}
			}
		}
		return r
	}
	both := func(name string, u quantity.Unit, o, s rules.Reach) rules.Bound {
		return rules.Bound{Name: name, Unit: u, Reach: [2]rules.Reach{design.Operating: o, design.Survival: s}}
	}
	endless := cause("current of LB", quantity.Volt, 0, math.Inf(1), 0, math.Inf(1), "").Of()
	unsaid := reach(quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: "rails.X", At: span(t, set, 1, "XA PHASE_A")}))
	single := reach(quantity.Exactly("VREF", quantity.Volt, 2.5))
	loose := drop(bus)
	loose.Loose = true
	events := cause("rails.VBUS.operating in events", quantity.Volt, 44, 55, math.Inf(-1), math.Inf(1), "").Of()
	return &Bounds{Netlist: n, Cautions: []string{"VBUS can reach 76 V: hazardous"}, List: []rules.Bound{
		both("PA", quantity.Volt, reach(drop(bus), shunt.Note), reach(drop(storm), shunt.Note)),
		both("V(PA,0)", quantity.Volt, reach(loose, shunt.Note), reach(loose, shunt.Note)),
		both("LEFT", quantity.Volt, reach(bus.Of()), reach(events, "rails.VBUS.survival not declared")),
		both("A", quantity.Volt, reach(endless), reach(endless)),
		both("X", quantity.Volt, unsaid, unsaid),
		both("VREF", quantity.Volt, single, single),
		both("I(RSH_A)", quantity.Amp, reach(amps.Of()), reach(amps.Of())),
		both("::error::\x1b[31m", quantity.Volt, unsaid, single),
	}}
}

func TestBoundsText(t *testing.T) {
	var b bytes.Buffer
	if err := BoundsText(&b, bounded(t), false); err != nil {
		t.Fatal(err)
	}
	golden(t, "bounds.txt", b.String())
	if strings.ContainsAny(b.String(), "\x1b") || strings.Contains(b.String(), "\n::") {
		t.Error("a name acts on the terminal or the build")
	}
	var colored bytes.Buffer
	if err := BoundsText(&colored, bounded(t), true); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(colored.String(), "\x1b[") {
		t.Error("no colour")
	}
}

func boundsSchemaFile(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "schema", "bounds.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestBoundsJSON(t *testing.T) {
	var b bytes.Buffer
	if err := BoundsJSON(&b, bounded(t)); err != nil {
		t.Fatal(err)
	}
	s := schema(t, "https://shuntwright.example/bounds.schema.json", boundsSchemaFile(t))
	valid(t, s, b.Bytes())
	golden(t, "bounds.json", b.String())

	for name, spoil := range map[string]func(reach map[string]any){
		"a null end without reason":      func(r map[string]any) { r["min"] = nil; delete(r, "witnessMin") },
		"an end without witness":         func(r map[string]any) { delete(r, "witnessMax") },
		"a cause that is a text":         func(r map[string]any) { r["witnessMax"].(map[string]any)["causes"] = map[string]any{"R": "1"} },
		"a state without a word":         func(r map[string]any) { r["witnessMax"].(map[string]any)["states"] = map[string]any{"M": 1} },
		"a bound that is said not loose": func(r map[string]any) { r["loose"] = false },
	} {
		var doc map[string]any
		if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
			t.Fatal(err)
		}
		spoil(doc["nets"].([]any)[0].(map[string]any)["operating"].(map[string]any))
		if s.Validate(doc) == nil {
			t.Errorf("%s is let pass", name)
		}
	}
}
