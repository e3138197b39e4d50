package circuit

import (
	"math"
)

// A Source is what an independent source does: volts for V and for B with V=, amperes otherwise.
type Source struct {
	Known    bool       // false: it may do anything
	Current  bool       // I, and B with I=
	DC       float64    // the DC value, or the value of the function at time zero where none is given
	Levels   [2]float64 // the smallest and the largest value it takes, a DC value that is given included
	Function string     // PULSE, SIN, EXP, PWL, SFFM; "" for none
}

// Source tells what a V or I does, and a B whose expression is a constant; nil for every other element.
func (c *Circuit) Source(id ID) *Source {
	el := &c.Elements[id]
	if s := c.sources[id]; s != nil {
		return s
	}
	if el.Kind != 'V' && el.Kind != 'I' {
		return nil
	}
	// Neither function nor expression: what is on the card is all there is.
	return &Source{Known: true, Current: el.Kind == 'I', DC: el.Value, Levels: [2]float64{el.Value, el.Value}}
}

// drive computes what a source does and keeps it where it took computing.
func (c *Circuit) drive(id ID, e *env) *Source {
	el := &c.Elements[id]
	card, x := c.card(id), c.extra(id)
	s := &Source{Current: el.Kind == 'I'}
	if el.Kind == 'B' {
		if x == nil || x.Law == nil || x.Law.Expr == nil || c.eval.live(e, x.Law.Expr) {
			return nil
		}
		s.Current = x.Law.Form == "I"
		if s.hold(c.eval.value(e, card.At.File, x.Law.Expr)); !s.Known || c.eval.warm {
			return nil
		}
		c.sources[id] = s
		return s
	}
	dc, given := card.Value, card.Wide > 0
	if x != nil && x.Value != nil {
		dc = c.eval.steadyValue(e, card.At.File, x.Value)
	}
	if x == nil || x.Drive == nil || x.Drive.Function == "" {
		if !given {
			dc = 0 // an ammeter
		}
		s.hold(dc)
	} else {
		args := make([]float64, len(x.Drive.Args))
		known := true
		for i, a := range x.Drive.Args {
			args[i] = c.eval.steady(e, a)
			known = known && !math.IsNaN(args[i])
		}
		s.Function = x.Drive.Function
		if known {
			s.follow(args)
		}
		if given {
			s.Known = s.Known && !math.IsNaN(dc)
			s.DC, s.Levels = dc, hull(s.Levels, dc)
		}
		if !s.Known {
			*s = Source{Current: s.Current, Function: s.Function, DC: math.NaN(), Levels: [2]float64{math.NaN(), math.NaN()}}
		}
	}
	if x != nil {
		c.sources[id] = s
	}
	return s
}

// hold makes a source keep one value.
func (s *Source) hold(v float64) {
	s.Known, s.DC, s.Levels = !math.IsNaN(v), v, [2]float64{v, v}
}

func hull(levels [2]float64, v float64) [2]float64 {
	return [2]float64{min(levels[0], v), max(levels[1], v)}
}

// follow fills in what a source function does, by the definitions and defaults of the SPICE3f3 User's Manual, 3.2.1. An
// argument left out or zero stands for its default; defaults that hang on the analysis do not move the extremes but
// where noted.
func (s *Source) follow(a []float64) {
	arg := func(i int) float64 {
		if i < len(a) {
			return a[i]
		}
		return 0
	}
	if s.Function == "PWL" {
		s.points(a)
		return
	}
	if len(a) < 2 {
		return
	}
	s.Known = true
	switch s.Function {
	case "PULSE":
		s.DC, s.Levels = a[0], hull([2]float64{a[0], a[0]}, a[1])
	case "SIN":
		if arg(4) < 0 { // grows without end
			s.Known = false
			return
		}
		swing := math.Abs(a[1])
		s.DC = a[0] + a[1]*math.Sin(arg(5)*math.Pi/180)
		s.Levels = [2]float64{a[0] - swing, a[0] + swing}
	case "SFFM":
		swing := math.Abs(a[1])
		s.DC, s.Levels = a[0], [2]float64{a[0] - swing, a[0] + swing}
	case "EXP":
		s.DC, s.Levels = a[0], hull([2]float64{a[0], a[0]}, a[1])
		s.Levels = hull(s.Levels, a[0]+(a[1]-a[0])*undershoot(arg(2), arg(3), arg(4), arg(5)))
	default:
		s.Known = false
	}
}

// undershoot is how far an EXP source swings beyond its first level on the way back, as a fraction of the step, negative
// or 0: it happens where the way back is faster than the way there.
func undershoot(delay1, tau1, delay2, tau2 float64) float64 {
	if delay2 == 0 {
		delay2 = delay1 // plus one time step, which makes it less
	}
	switch {
	case tau1 == 0 && tau2 == 0 && delay2 >= delay1:
		return 0 // both are one time step
	case tau1 <= 0 || tau2 <= 0:
		return -1 // of unknown ratio
	}
	back := func(t float64) float64 { return math.Exp(-(t-delay2)/tau2) - math.Exp(-(t-delay1)/tau1) }
	start := max(delay1, delay2)
	least := min(0, back(start))
	if tau1 != tau2 {
		t := (math.Log(tau1/tau2) + delay2/tau2 - delay1/tau1) / (1/tau2 - 1/tau1)
		if t > start {
			least = min(least, back(t))
		}
	}
	return max(least, -1)
}

// points fills in a piecewise linear source: the first value holds before the first time, the last one after the last.
func (s *Source) points(a []float64) {
	if len(a) < 2 || len(a)%2 == 1 {
		return
	}
	s.Known = true
	s.DC, s.Levels = a[1], [2]float64{a[1], a[1]}
	for i := 0; i < len(a); i += 2 {
		if i > 0 && a[i] < a[i-2] { // time runs backwards
			s.Known = false
			return
		}
		s.Levels = hull(s.Levels, a[i+1])
		switch {
		case a[i] <= 0:
			s.DC = a[i+1]
		case i > 0 && a[i-2] < 0:
			s.DC = a[i-1] + (a[i+1]-a[i-1])*(0-a[i-2])/(a[i]-a[i-2])
		}
	}
}
