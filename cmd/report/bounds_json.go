package report

import (
	"cmp"
	"io"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// boundsSchema names the form of the JSON result of bounds; what may change under one number is as for the lint result.
const boundsSchema = "shuntwright.bounds/1"

type (
	jsonBounds struct {
		Schema   string      `json:"schema"`
		Netlist  string      `json:"netlist"`
		Nets     []jsonBound `json:"nets"`
		Cautions []string    `json:"cautions"`
	}
	jsonBound struct {
		Net       string    `json:"net"`
		Unit      string    `json:"unit"`
		Operating jsonReach `json:"operating"`
		Survival  jsonReach `json:"survival"`
	}
	jsonReach struct {
		Min        number       `json:"min"`
		Max        number       `json:"max"`
		Nominal    *number      `json:"nominal,omitempty"`
		SoundMin   *number      `json:"soundMin,omitempty"`
		SoundMax   *number      `json:"soundMax,omitempty"`
		Loose      bool         `json:"loose,omitempty"`
		Assumed    []string     `json:"assumed,omitempty"`
		Missing    []string     `json:"missing,omitempty"`
		ReasonMin  string       `json:"reasonMin,omitempty"`
		ReasonMax  string       `json:"reasonMax,omitempty"`
		WitnessMin *jsonWitness `json:"witnessMin,omitempty"`
		WitnessMax *jsonWitness `json:"witnessMax,omitempty"`
		Residual   float64      `json:"residual,omitempty"`  // the next power of ten
		Condition  float64      `json:"condition,omitempty"` // the next power of ten
	}
	jsonWitness struct {
		Value  number            `json:"value"`
		Causes map[string]number `json:"causes"`
		States map[string]string `json:"states"`
		Path   []string          `json:"path"`
		Base   []string          `json:"base,omitempty"` // from the second net of a difference
	}
)

// BoundsJSON prints bounds for programs.
func BoundsJSON(w io.Writer, b *Bounds) error {
	out := jsonBounds{Schema: boundsSchema, Netlist: b.Path, Nets: []jsonBound{}, Cautions: some(b.Cautions)}
	for _, x := range b.List {
		out.Nets = append(out.Nets, jsonBound{Net: x.Name, Unit: unit(x.Unit),
			Operating: reachJSON(x.Reach[design.Operating]), Survival: reachJSON(x.Reach[design.Survival])})
	}
	return encode(w, out)
}

func reachJSON(r rules.Reach) jsonReach {
	out := jsonReach{Min: number(math.NaN()), Max: number(math.NaN()), Nominal: number(r.Nom).known(), Assumed: r.Assumed, Missing: missing(r.Needs),
		ReasonMin: cmp.Or(r.Low.Reason, r.Low.Unproven), ReasonMax: cmp.Or(r.High.Reason, r.High.Unproven)}
	if r.Condition > 0 {
		out.Residual, out.Condition = decade(max(r.Residual, 1e-16)), decade(r.Condition)
	}
	if !r.Seen.Empty() {
		out.Min, out.Max = number(r.Seen.Lo), number(r.Seen.Hi)
		out.WitnessMin, out.WitnessMax = witnessJSON(r.Low, out.Min), witnessJSON(r.High, out.Max)
	}
	for _, end := range []struct {
		seen  number
		wider bool
		sound float64
		to    **number
	}{{out.Min, r.Low.Wider, r.Sound.Lo, &out.SoundMin}, {out.Max, r.High.Wider, r.Sound.Hi, &out.SoundMax}} {
		if shown := finite(float64(end.seen)); shown && end.wider || !shown && finite(end.sound) {
			sound := number(end.sound)
			*end.to = &sound
			out.Loose = out.Loose || r.Loose
		}
	}
	return out
}

// decade is the next power of ten: the digits behind it differ from machine to machine.
func decade(v float64) float64 {
	if !finite(v) {
		return 0
	}
	return math.Pow(10, math.Ceil(math.Log10(v)-0.1))
}

func witnessJSON(e rules.End, value number) *jsonWitness {
	if !e.Shown {
		return nil
	}
	w := &jsonWitness{Value: value, Causes: map[string]number{}, States: map[string]string{}, Path: some(e.Path), Base: e.Base}
	for _, s := range e.States {
		switch label := s.Label(); {
		case label != "":
			name, word := switched(s, label)
			w.States[name] = word
		case s.At.None() && s.Sound == quantity.Point(0): // ground
		default:
			w.Causes[s.Name] = number(s.Value)
		}
	}
	for _, d := range e.Diodes {
		w.States[d.Name] = "blocking"
		if d.Conducts {
			w.States[d.Name] = "conducting"
		}
	}
	for _, o := range e.Stops {
		w.States["output of "+o.Of] = "stopped low"
		if o.High {
			w.States["output of "+o.Of] = "stopped high"
		}
	}
	return w
}

// switched parts a label like "XHA.MH on" into what it is said of and how that stands.
func switched(s quantity.State, label string) (name, word string) {
	name = strings.TrimPrefix(s.Name, "state of ")
	return name, strings.TrimPrefix(label, name+" ")
}
