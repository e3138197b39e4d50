package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/clamp-leakage.md
var clampLeakagePage string

// ClampLeakage holds the voltage across a clamp while the circuit works below its breakdown and its standoff voltage, and
// what its leakage makes of the resistance between it and the shunt below a share of the part's offset.
var ClampLeakage = &rules.Rule{
	ID:    "clamp-leakage",
	Title: "clamp conducts or leaks in normal use",
	Level: rules.Warning,
	Page:  clampLeakagePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		turned := reversed(p)
		found := len(turned) > 0
		leaks := map[string][]quantity.Quantity{}
		legs := map[string][]design.Element{}
		for _, c := range blockClamps(p) {
			if c.over || !c.isInput() && c.pin != "supply" {
				continue
			}
			found = true
			blocksWorking(p, c)
			if outer := resistors(c.outer); c.isInput() && !c.between && p.Network == nil && len(outer) > 0 {
				ohms := seriesOhms(p, "resistance from "+c.Path()+" to the shunt", outer)
				leaks[c.pin] = append(leaks[c.pin], quantity.Calc(c.Path(), quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, c.leakage(p), ohms))
				legs[c.pin] = append(legs[c.pin], outer...)
			}
		}
		for _, c := range turnedClamps(p) {
			if turned[c.ID] {
				continue
			}
			found = true
			staysOff(p, c)
		}
		if !found {
			p.Skip("no clamp with a part record stands at the inputs or the supply")
			return
		}
		for _, pin := range []string{"in+", "in-"} {
			if len(leaks[pin]) == 0 {
				continue
			}
			// nothing says that the other leg leaks alike, so that nothing is taken off
			offset := quantity.Calc("offset by clamp leakage at "+pin, quantity.Volt, func(x []float64) float64 {
				sum := 0.0
				for _, v := range x {
					sum += v
				}
				return sum
			}, leaks[pin]...)
			p.AtMost(offset, offsetShare(p), "20 % of offset.max").Lower(slices.Concat(legs["in+"], legs["in-"])...).
				Advise("put the clamp on the shunt's side of the resistance, or take one that leaks less").
				Fails(func(m rules.Measure) string {
					sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
					return fmt.Sprintf("%s is up to %s, more than a fifth of the part's own", m.Name, sc.Text(m.Max, quantity.Up))
				})
		}
	},
}

const (
	// mostDrop is what a diode may drop where nobody says it, in volts.
	mostDrop = 1.5
	// crowdedNet is how many elements a net may have to be looked through for diodes.
	crowdedNet = 4096
)

// reversed looks for one-way clamps, and diodes without a record, that stand the wrong way round at a net of
// the block: in forward direction between a net that works above ground and ground, where they conduct. It returns those judged.
func reversed(p *rules.Bench) (judged map[circuit.ID]bool) {
	judged = map[circuit.ID]bool{}
	seen := map[circuit.ID]bool{}
	for _, at := range blockPlaces(p) {
		if at.net == 0 || at.net == p.Ground || at.pin == "out" || len(p.Design.Circuit.On(at.net)) > crowdedNet {
			continue
		}
		for e := range p.Design.On(at.net) {
			r := e.Record()
			clamps := r != nil && r.Role() == "clamp"
			if seen[e.ID] || !clamps && e.Kind() != 'D' {
				continue
			}
			seen[e.ID] = true
			high, low, both, ok := clampEnds(e)
			if !ok || both || low != at.net || high != 0 && high != p.Ground {
				continue
			}
			forward := p.Across(low, high, design.Operating).Named("forward voltage of " + e.Path())
			limit, text := quantity.Exactly("largest drop", quantity.Volt, mostDrop), "the largest drop of a diode"
			switch {
			case clamps:
				limit, text = p.PartOf(e, "drop"), "drop"
			case !(forward.Known() && !forward.Seen.Empty() && forward.Seen.Hi > mostDrop): // a diode is no clamp that is asked for anything
				continue
			}
			judged[e.ID] = true
			p.AtMost(forward, limit, text).At(rules.Error).On(e).Fails(func(m rules.Measure) string {
				return fmt.Sprintf("%s stands the wrong way round: it conducts in forward direction, %s works up to %s", e.Path(), p.Design.Circuit.NetName(low),
					quantity.ScaleFor(quantity.Volt, m.Max).Text(m.Max, quantity.Up))
			}).Advise("exchange anode and cathode of " + e.Path())
		}
	}
	return judged
}

// blocksWorking holds the working voltage of a clamp below what it begins to conduct at, and what it only leaks up to.
func blocksWorking(p *rules.Bench, c clamp) {
	across := p.Across(c.high, c.low, design.Operating).Named("voltage across " + c.Path())
	if c.both {
		across = across.Peak().Named("voltage across " + c.Path())
	}
	standoff, breakdown := c.Entry("clamp.standoff"), c.Entry("clamp.breakdown")
	if breakdown != nil {
		p.AtMost(across, c.breakdown(p), "breakdown over temperature").At(rules.Error).On(c.Element).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("%s conducts while the circuit works: it sees up to %s and breaks down from %s", c.Path(),
				sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
	}
	if standoff != nil || breakdown == nil {
		p.AtMost(across, p.PartOf(c.Element, "clamp.standoff"), "clamp.standoff").At(rules.Warning).On(c.Element).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("%s sees up to %s while the circuit works, its record says what it leaks only up to %s", c.Path(),
				sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
	}
}

// turnedClamps are the one-way clamps with a record whose anode stands at the inputs or the supply: drawn the wrong way around,
// or up to a rail.
func turnedClamps(p *rules.Bench) (out []clamp) {
	if !clampRecords(p) {
		return nil
	}
	seen := map[circuit.ID]bool{}
	for _, c := range blockClamps(p) {
		seen[c.ID] = true
	}
	for _, at := range blockPlaces(p) {
		if at.net == p.Ground || at.net == 0 || !strings.HasPrefix(at.pin, "in") && at.pin != "supply" {
			continue
		}
		for e := range p.Design.On(at.net) {
			if r := e.Record(); r == nil || r.Role() != "clamp" || seen[e.ID] {
				continue
			}
			if high, low, both, ok := clampEnds(e); ok && !both && low == at.net && high != low {
				seen[e.ID] = true
				out = append(out, clamp{Element: e, high: high, low: low, pin: at.pin, inner: at.inner, outer: at.outer})
			}
		}
	}
	return out
}

// staysOff holds what stands at the anode of a clamp above its cathode at or below its drop.
func staysOff(p *rules.Bench, c clamp) {
	forwards := p.Across(c.low, c.high, design.Operating).Named("forward voltage of " + c.Path())
	advice := "turn " + c.Path() + " around: its cathode belongs on " + p.Design.Circuit.NetName(c.low)
	if c.high != 0 && c.high != p.Ground {
		advice = "take " + c.Path() + " to a rail above " + p.Design.Circuit.NetName(c.low)
	}
	p.AtMost(forwards, c.drop(p), "its drop").At(rules.Error).On(c.Element).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
		return fmt.Sprintf("%s conducts forwards while the circuit works: its anode stands up to %s above its cathode", c.Path(), sc.Text(m.Max, quantity.Up))
	}).Advise(advice)
}

// leakage is the current of a clamp below its standoff voltage, anything up to what the record allows at the hottest, in
// amperes.
func (c clamp) leakage(p *rules.Bench) quantity.Quantity {
	const key = "clamp.leakage"
	e := c.Entry(key)
	if e == nil {
		return p.PartOf(c.Element, key)
	}
	share := (&quantity.Cause{Name: c.Path() + " share of " + key, Unit: quantity.Ratio, Nom: 1, Sound: quantity.Interval{Hi: 1}, Seen: quantity.Interval{Hi: 1}, At: e.At}).Of()
	copies := c.Copies()
	if len(e.Points) == 0 {
		amps := quantity.Exactly(c.Path()+" largest leakage", quantity.Amp, e.Written.Range.Hi*copies)
		return quantity.Calc(c.Path()+" leakage", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, share, amps)
	}
	t := p.Declared(quantity.Celsius, "temperature")
	if !t.Known() { // at no end of the curve, wherever that is
		return quantity.Missing(quantity.Amp, t.Needs[0])
	}
	if hot := t.Sound.Hi; hot > e.Points[len(e.Points)-1][0].Nom {
		n := c.PartNeed(key)
		n.Key += " up to " + quantity.Show(hot, quantity.Celsius)
		return quantity.Missing(quantity.Amp, n)
	}
	return quantity.Calc(c.Path()+" leakage", quantity.Amp, func(x []float64) float64 {
		y, ok := onCurve(e, x[1], byTemperature)
		if !ok { // colder than the record tells: not more than there
			y = e.Points[0][1].Range.Hi
		}
		return x[0] * y * copies
	}, share, t)
}
