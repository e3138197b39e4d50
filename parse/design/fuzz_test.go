package design_test

import (
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// Whatever netlist, records and intent say: they bind without a panic and in bounded time, every complaint has a place in
// one of the files and a word, and the same files mean the same twice.
func FuzzBind(f *testing.F) {
	read := func(name string) string {
		text, err := os.ReadFile("../../examples/cable-ferry/" + name)
		if err != nil {
			f.Fatal(err)
		}
		return string(text)
	}
	f.Add(read("ferry-drive.cir"), read("parts/ferry.toml"), read("ferry-drive.intent.toml"))
	f.Add("t\n* shuntwright: rails.V5 = \"5 V +- 2 %\"\nRSH V5 out 1m tc=1m,2u\nR1 V5 0 1k\nXA V5 out o 0 V5 V5 barge-30\n", barge,
		"[currents]\nRSH = { range = \"0 A .. 2 A\", from = \"V5\" }\n[elements]\nR1.tolerance = \"1 %\"\nR9 = { drop = \"1 V\" }\n")
	f.Add("t\nV1 A 0 PULSE(9 {k}) m=2\nM1 A g 0 0 mm w=1u\n.model mm nmos(vto=1)\n.if (k)\n.param k=12\n.endif\nX1 A B cell m=2\n.subckt cell p q\nR1 p q {temper}\nD1 p q dm 2\n.ends\n",
		barge+"[[part.code]]\nsuffix = \"-2\"\n", "rails.A = { follows = \"B\", within = \"10 mV\" }\nrails.B = { follows = \"A\", within = \"10 mV\" }\nswitching.A.between = [\"0\", \"B\"]\n")
	f.Add("t\nXA a b c d e f barge-30 m=2\n.subckt barge-30 in- in+ out ground ref supply\nR1 in+ in- 1\n.ends\nE1 x 0 a b 2\nF1 a b V1 2\nV1 b 0\n* shuntwright: states.off.rails.a = \"0 V\"\n",
		barge, "states.off.measuring = false\ngoals.XA.error = \"2 %\"\nconverters.c = { range = \"0 V .. a\", bits = 12 }\n")
	f.Fuzz(func(t *testing.T, deck, records, promises string) {
		start := time.Now()
		first := bound(t, deck, records, promises)
		if took := time.Since(start); took > 20*time.Second && len(deck)+len(records)+len(promises) < 10_000 {
			t.Fatalf("it takes %v", took)
		}
		if again := bound(t, deck, records, promises); !slices.Equal(first, again) {
			t.Fatalf("bound twice:\n%q\nbecame\n%q", first, again)
		}
	})
}

// bound reads all three and asks the design what rules ask; it returns what there was to say.
func bound(t *testing.T, deck, records, promises string) (said []string) {
	t.Helper()
	set := source.NewSet()
	n, diags := parse.Read(set, set.Add("deck.cir", []byte(deck), source.Span{}),
		parse.Options{Limits: parse.Limits{Elements: 5000, HierarchyDepth: 20, PathLength: 1000}})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(records), source.Span{}))...)
	in, found := intent.Read(set, set.Add("deck.intent.toml", []byte(promises), source.Span{}))
	diags = append(diags, found...)
	d, found := design.Bind(set, n, lib, in)
	diags = append(diags, found...)
	inside := func(what string, at source.Span) {
		t.Helper()
		if at.None() {
			t.Fatalf("%s has no place", what)
		}
		if end := int(at.Byte) + int(at.Len); end > len(set.File(at.File).Text) {
			t.Fatalf("%s ends at %d of %d", what, end, len(set.File(at.File).Text))
		}
		set.Place(at)
	}
	for _, diag := range diags {
		if diag.Message == "" || diag.Rule == "" {
			t.Fatalf("a complaint without a word: %+v", diag)
		}
		inside(diag.Message, diag.At)
		for _, r := range diag.Related {
			inside(r.Message, r.At)
		}
		said = append(said, fmt.Sprint(diag))
	}
	for e := range d.Elements() {
		inside(e.Path(), e.Card())
		for _, call := range e.Calls() {
			inside(e.Path(), call)
		}
		said = append(said, fmt.Sprintf("%s %c %v", e.Path(), e.Kind(), e.Value()))
		if r := e.Record(); r != nil {
			said = append(said, r.Name(), shown(e.Part("gain")), shown(e.Part("offset.max")))
			e.Amplifiers()
			e.PinOf("in+", "")
		}
		if e.Kind() == 'R' {
			said = append(said, shown(e.Resistance()), shown(e.TrackedResistance()))
		}
		for _, r := range []design.Regime{design.Operating, design.Survival} {
			if c, ok := current(e, r); ok {
				said = append(said, shown(c.Value))
			}
			if e.Source() != nil {
				said = append(said, shown(e.Drive(r)))
			}
		}
		e.Area()
		e.Copies()
		e.Linear()
		e.Short()
	}
	for net := range d.Circuit.Nets() {
		for _, r := range []design.Regime{design.Operating, design.Survival} {
			if q, ok := d.Rail(circuit.Net(net), r); ok {
				said = append(said, shown(q))
			}
		}
	}
	return said
}

func shown(q quantity.Quantity) string {
	return fmt.Sprint(q.Name, q.Nom, q.Sound, q.Seen, q.Grade, q.Needs, q.Why, q.Notes(0))
}

// current is the declared current of an element with two ends, which are all that rules ask.
func current(e design.Element, r design.Regime) (c design.Current, ok bool) {
	if e.Pins() != 2 {
		return c, false
	}
	return e.Current(r)
}
