package rules

import (
	"math"
	"reflect"
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
)

// JudgeVariants is Judge for the drawing, where asked, and for assembly variants of it. A result of a variant is there
// where it comes out otherwise than that of the drawing, and names the variant; without the drawing all of them are.
func JudgeVariants(d *design.Design, list []*Rule, drawn bool, variants []design.Variant, o ...Option) *Report {
	rep := &Report{Design: d}
	if drawn {
		if rep = Judge(d, list, o...); rep.Stopped != nil {
			return rep
		}
	}
	type instance struct{ rule, block string }
	before := map[instance][]Result{}
	for _, r := range rep.Results {
		at := instance{r.Rule, r.Block}
		before[at] = append(before[at], r)
	}
	drawing := len(rep.Blocks)
	for _, v := range variants {
		one := Judge(d.As(v), list, append(slices.Clip(o), notGrowing)...)
		if one.Stopped != nil {
			return &Report{Design: d, Stopped: one.Stopped}
		}
		for _, b := range one.Blocks {
			if !slices.ContainsFunc(rep.Blocks[:drawing], func(o BlockInfo) bool { return reflect.DeepEqual(b, o) }) {
				b.Variant = v.Name
				rep.Blocks = append(rep.Blocks, b)
			}
		}
		for _, r := range one.Results {
			if r.Rule == "netlist-blocks" && drawing > 0 { // a variant may leave the amplifiers out
				continue
			}
			if !slices.ContainsFunc(before[instance{r.Rule, r.Block}], func(o Result) bool { return alike(r, o) }) {
				r.Variant = v.Name
				rep.Results = append(rep.Results, r)
			}
		}
		for _, c := range one.Cautions {
			if !slices.Contains(rep.Cautions, c) {
				rep.Cautions = append(rep.Cautions, c)
			}
		}
	}
	return rep
}

// alike tells that two results say the same of the same: what would cure a failure is not part of what it is.
func alike(a, b Result) bool {
	return a.Rule == b.Rule && a.Block == b.Block && a.Kind == b.Kind && a.Level == b.Level && a.Message == b.Message && a.At == b.At &&
		a.Grade == b.Grade && a.Stated == b.Stated && slices.Equal(a.Needs, b.Needs) && slices.EqualFunc(a.Measures, b.Measures, sameMeasure)
}

// sameMeasure tells that two measures stand alike against the same limits.
func sameMeasure(a, b Measure) bool {
	if a.Name != b.Name || a.Unit != b.Unit || a.AtHigh != b.AtHigh || a.Kind != b.Kind || a.Level != b.Level || a.LimitText != b.LimitText {
		return false
	}
	x := [...]float64{a.Min, a.Max, a.SoundMin, a.SoundMax, a.LimitMin, a.LimitMax, a.Margin}
	y := [...]float64{b.Min, b.Max, b.SoundMin, b.SoundMax, b.LimitMin, b.LimitMax, b.Margin}
	most := math.Max(math.Abs(a.Max), math.Abs(a.Min)) // what margins of other arithmetic may differ by
	for i := range x {
		if x[i] != y[i] && !(math.IsNaN(x[i]) && math.IsNaN(y[i])) && !(math.Abs(x[i]-y[i]) <= 1e-9*math.Max(most, math.Abs(x[i]))) {
			return false
		}
	}
	return true
}
