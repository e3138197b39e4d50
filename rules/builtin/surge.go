package builtin

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// A surge is a declared one: a source behind a resistance that enters a net.
type surge struct {
	name        string
	at          circuit.Net
	volts, ohms quantity.Quantity
	duration    quantity.Quantity
}

// declaredSurges are the declared ones that enter a net which the netlist has.
func declaredSurges(p *rules.Bench) (out []surge) {
	for _, name := range p.Design.Intent.Names("surges") {
		s, ok := p.Surge(name)
		if !ok { // surge-event asks where it enters; a name that is not there is reported
			continue
		}
		out = append(out, surge{name, s.At, s.Voltage, s.Ohms, s.Duration})
	}
	return out
}

// surgesReaching are the surges that reach a net over resistors and inductors, with the resistance of the way in theirs.
func surgesReaching(p *rules.Bench, list []surge, to circuit.Net) (out []surge) {
	for _, s := range list {
		over, ok := resistiveRoute(p.Design, s.at, to)
		if !ok {
			continue
		}
		if way := resistors(over); len(way) > 0 {
			s.ohms = quantity.Calc(s.ohms.Name, quantity.Ohm, func(x []float64) float64 { return x[0] + x[1] }, s.ohms, seriesOhms(p, "way of "+s.name, way))
		}
		out = append(out, s)
	}
	return out
}

// surgeNeed is the key that would say which surges a net has to take.
func surgeNeed(p *rules.Bench, n circuit.Net) quantity.Need {
	return quantity.Need{In: "intent", Key: `surges.NAME with at = "` + p.Design.Circuit.NetName(n) + `"`}
}

// held is the voltage from low to high at which a clamp holds a surge, in volts. turned asks for a surge the other way around,
// in a clamp that works both ways; then it is negative.
func (c clamp) held(p *rules.Bench, k clampCurve, s surge, turned bool) quantity.Quantity {
	sign := turnSign(turned)
	return quantity.Calc(c.Path()+" in "+s.name, quantity.Volt, func(x []float64) float64 {
		v, r, bv, share := sign*x[0], x[1], x[2], x[3]
		i := k.load(v, r, bv, share)
		switch {
		case i == 0: // the other way around it is another clamp, or a forward drop
			return sign * max(v, 0)
		case r == 0 || math.IsInf(i, 0):
			return sign * v
		}
		return sign * (v - r*i)
	}, s.volts, s.ohms, c.breakdown(p), c.share())
}

func turnSign(turned bool) float64 {
	if turned {
		return -1
	}
	return 1
}

// A clampHold is the voltage at which a clamp holds its net in one event, or in any where none is declared.
type clampHold struct {
	volts  quantity.Quantity // from low to high, V
	event  string            // "in dump"; "" where no surge is declared
	beyond *quantity.Need    // the current may be more than the record tells of
	most   float64           // A, that current
}

// levels are those of a clamp in the surges that reach it. Where none is declared the clamp carries anything up to the last
// point of its record: its breakdown voltage is seen, and what it adds up to there is not ruled out.
func (c clamp) levels(p *rules.Bench) (out []clampHold) {
	k, told := c.curve()
	bv := c.breakdown(p)
	need := c.PartNeed("clamp.level")
	list := surgesReaching(p, declaredSurges(p), c.high)
	if len(list) == 0 {
		rise := &quantity.Cause{Name: "rise of " + c.Path() + " in an event", Unit: quantity.Ratio, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Point(0)}
		most := 0.0
		switch {
		case !told: // as far up as anybody fears
			rise.Sound.Hi, rise.Needs, most = math.Inf(1), []quantity.Need{need}, 1
		default:
			rise.Needs, most = []quantity.Need{surgeNeed(p, c.high)}, k.rise(k.rated)
		}
		volts := quantity.Calc(c.Path(), quantity.Volt, func(x []float64) float64 { return x[0] + x[1]*most }, bv, rise.Of())
		// What intent promises of the net in every event stands, whatever flows.
		if reach := p.Across(c.high, c.low, design.Survival); told && reach.Known() && !math.IsInf(reach.Sound.Hi, 0) && !reach.Sound.Empty() {
			promise := quantity.Exactly("highest declared voltage across "+c.Path(), quantity.Volt, reach.Sound.Hi)
			volts = quantity.Calc(c.Path(), quantity.Volt, func(x []float64) float64 { return min(x[0], x[1]) }, volts, promise)
		}
		return []clampHold{{volts: volts}}
	}
	for _, s := range list {
		for _, turned := range []bool{false, true} {
			if turned && (!c.both || !(s.volts.Sound.Lo < 0)) || !turned && !(s.volts.Sound.Hi > 0) {
				continue
			}
			l := clampHold{event: "in " + s.name}
			if q, ok := firstMissing(quantity.Volt, s.volts, s.ohms, bv); ok {
				l.volts = q
				out = append(out, l)
				continue
			}
			if !told { // anywhere between its breakdown and what the surge would reach without it
				sign := turnSign(turned)
				part := (&quantity.Cause{Name: "rise of " + c.Path(), Unit: quantity.Ratio, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Point(0), Needs: []quantity.Need{need}}).Of()
				l.volts = quantity.Calc(c.Path(), quantity.Volt, func(x []float64) float64 {
					v := sign * x[0]
					return sign * (min(v, x[1]) + x[2]*max(0, v-x[1]))
				}, s.volts, bv, part)
				out = append(out, l)
				continue
			}
			l.volts = c.held(p, k, s, turned)
			// A part with less of a rise carries more and holds its net lower: the one with all of it decides.
			v := max(turnSign(turned)*s.volts.Sound.Lo, turnSign(turned)*s.volts.Sound.Hi)
			if i := k.load(v, s.ohms.Sound.Lo, bv.Sound.Hi, 1); i > k.rated*(1+1e-9) {
				l.beyond, l.most = &need, i
			}
			out = append(out, l)
		}
	}
	return out
}

// fromGround is a clamp's voltage as the pin sees it: on top of where the clamp's other end stands. A clamp between the
// legs is seen as the difference of the inputs.
func (c clamp) fromGround(p *rules.Bench, volts quantity.Quantity) quantity.Quantity {
	if c.between {
		sign := 1.0
		if c.pin == "in-" {
			sign = -1
		}
		return quantity.Calc("in+ less in-", quantity.Volt, func(x []float64) float64 { return sign * x[0] }, volts)
	}
	if c.low == p.Ground {
		return volts
	}
	return quantity.Calc(volts.Name, quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, volts, p.Across(c.low, p.Ground, design.Operating))
}

// exceeded states that a surge drives more through the clamp than its record tells of.
func (c clamp) exceeded(p *rules.Bench, l clampHold) {
	if l.beyond == nil {
		return
	}
	k, _ := c.curve()
	p.Lacks(fmt.Sprintf("%s carries up to %s %s, its record tells the level up to %s", c.Path(),
		quantity.Show(l.most, quantity.Amp), l.event, quantity.Show(k.rated, quantity.Amp)), *l.beyond).On(c.Element)
}

// subject is what a clamp holds, in words: "in+ behind DT in dump".
func (c clamp) subject(l clampHold) string {
	what := c.pin
	if c.between {
		what = "in+ less in-"
	}
	return strings.TrimSpace(what + " with " + c.Path() + " " + l.event)
}
