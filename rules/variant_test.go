package rules_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// top holds the voltage across the whole shunt to 30 mV: at 20 A, 1 mohm and 1 % make 20.2 mV, 2 mohm 40.4 mV.
var top = &rules.Rule{ID: "winch-drop", Title: "drop", Level: rules.Error, Judge: func(p *rules.Bench) {
	drop := quantity.Minus("drop", p.Voltage("in+", design.Operating), p.Voltage("in-", design.Operating))
	p.AtMost(drop, quantity.Exactly("limit", quantity.Volt, 0.030), "30 mV")
}}

// heard are results with their variant, one word each.
func heard(rep *rules.Report) (list []string) {
	for _, r := range rep.Results {
		at := r.Block
		if r.Variant != "" {
			at += "/" + r.Variant
		}
		list = append(list, fmt.Sprintf("%s %s %s", at, r.Rule, r.Kind))
	}
	return list
}

func TestJudgeVariants(t *testing.T) {
	d := load(t, deck+`RX BUS LOAD 1k dnp=1
XB BUS LOAD out2 0 VM V5 barge-30
* shuntwright: elements.XB.placed = false
* shuntwright: variants.thick.values.RSH = "2 mohm"
* shuntwright: variants.same.values.RL = "4 ohm"
* shuntwright: variants.two.placed = ["XB"]
* shuntwright: variants.none.absent = ["XA"]
`, barge)
	list := []*rules.Rule{top}
	all := d.Variants()
	for _, c := range []struct {
		name     string
		drawn    bool
		variants []design.Variant
		want     []string
	}{
		{"drawn", true, nil, []string{"XA winch-drop pass"}},
		{"all", true, all, []string{"XA winch-drop pass", "XA/thick winch-drop fail", "XB/two winch-drop pass"}},
		{"one that differs", false, all[:1], []string{"XA/thick winch-drop fail"}},
		{"one that does not", false, all[1:2], []string{"XA/same winch-drop pass"}},
		{"one without amplifiers", false, all[3:], []string{"/none netlist-blocks open"}},
	} {
		rep := rules.JudgeVariants(d, list, c.drawn, c.variants)
		if got := heard(rep); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	rep := rules.JudgeVariants(d, list, true, all)
	var blocks []string
	for _, b := range rep.Blocks {
		blocks = append(blocks, b.Name+"/"+b.Variant)
	}
	if want := []string{"XA/", "XB/two"}; !slices.Equal(blocks, want) {
		t.Errorf("blocks %q, want %q", blocks, want)
	}
	// What is measured in the variant is twice what the drawing has.
	var drops []float64
	for _, r := range rep.Results[:2] {
		drops = append(drops, r.Measures[0].Max)
	}
	if r := drops[1] / drops[0]; r < 1.999 || r > 2.001 {
		t.Errorf("drops %v", drops)
	}
	// A remedy of a variant is judged in the variant: 30 mV over 20 A and 1 % are 1.485 mohm.
	fix := &rules.Rule{ID: "winch-drop", Level: rules.Error, Judge: func(p *rules.Bench) {
		e, _ := p.Design.Find("RSH")
		drop := quantity.Minus("drop", p.Voltage("in+", design.Operating), p.Voltage("in-", design.Operating))
		p.AtMost(drop, quantity.Exactly("limit", quantity.Volt, 0.030), "30 mV").Lower(e)
	}}
	rep = rules.JudgeVariants(d, []*rules.Rule{fix}, true, all[:1])
	last := rep.Results[len(rep.Results)-1]
	if last.Remedy == nil || last.Remedy.Changes[len(last.Remedy.Changes)-1].Value < 1.4e-3 || last.Remedy.Changes[len(last.Remedy.Changes)-1].Value > 1.486e-3 {
		t.Errorf("the remedy is %+v", last.Remedy)
	}
}
