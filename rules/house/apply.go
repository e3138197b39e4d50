package house

import (
	"errors"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// apply does on the bench what a rule said.
func (b bench) apply(acts []act) *fault {
	if len(acts) == 0 {
		about := "this block"
		if b.Whole() {
			about = "this circuit"
		}
		b.Lacks("cannot be judged: the rule says nothing about " + about)
	}
	for _, a := range acts {
		if a.Do == "skip" && slices.ContainsFunc(acts, func(o act) bool { return o.Do != "skip" }) {
			continue // nothing that is said is undone
		}
		if err := b.act(a); err != nil {
			var u undecided
			if errors.As(err, &u) {
				return &fault{Message: u.message, Needs: u.needs, Undecided: true}
			}
			return &fault{Message: err.Error()}
		}
	}
	return nil
}

func (b bench) act(a act) error {
	var c *rules.Check
	switch a.Do {
	case "skip":
		b.Skip(a.Message)
		return nil
	case "breach":
		c = b.Breach(a.Message)
	case "holds":
		c = b.Holds(a.Message)
	case "holds_if":
		c = b.HoldsIf(a.Message)
	case "missing":
		c = b.Lacks(a.Message, quantity.Need{In: a.In, Key: a.Name})
	case "at_most", "at_least", "within":
		q, err := b.quantity(a.Quantity)
		if err != nil {
			return err
		}
		if a.Name != "" {
			q = q.Named(a.Name)
		}
		var low, high quantity.Quantity
		text := a.Limit
		for _, end := range []struct {
			x    *expression
			into *quantity.Quantity
		}{{a.Low, &low}, {a.High, &high}} {
			if end.x == nil {
				continue
			}
			if *end.into, err = b.quantity(end.x); err != nil {
				return err
			}
			if text == "" && end.x.Op != opConstant {
				text = end.into.Name
			}
		}
		switch a.Do {
		case "at_most":
			c = b.AtMost(q, high, text)
		case "at_least":
			c = b.AtLeast(q, low, text)
		default:
			c = b.Within(q, low, high, text)
		}
		c.Fails(func(m rules.Measure) string { return worded(a.Message, m) })
	}
	if c == nil {
		return nil
	}
	if l, ok := levels[a.Level]; ok {
		c.At(l)
	}
	if a.Remedy != "" {
		c.Advise(a.Remedy)
	}
	if a.At != "" {
		e, err := b.element(a.At)
		if err != nil {
			return err
		}
		c.On(e)
	}
	for _, p := range a.Evidence {
		e, err := b.element(p.At)
		if err != nil {
			return err
		}
		c.Evidence(source.Related{At: e.Card(), Message: e.Path() + ": " + p.Text})
	}
	return b.knobs(c, a)
}

// knobs names the elements whose value may be turned for a remedy.
func (b bench) knobs(c *rules.Check, a act) error {
	for _, k := range []struct {
		paths []string
		turn  func(...design.Element) *rules.Check
	}{{a.Lower, c.Lower}, {a.Raise, c.Raise}} {
		var list []design.Element
		for _, p := range k.paths {
			e, err := b.element(p)
			if err != nil {
				return err
			}
			list = append(list, e)
		}
		k.turn(list...)
	}
	return nil
}

// worded is the message of a failed limit: the rule's own, with what was reached and the limit in the places of {reach} and
// {limit}, or ours.
func worded(text string, m rules.Measure) string {
	s := quantity.ScaleFor(m.Unit, m.Min, m.Max, m.LimitMin, m.LimitMax)
	end, limit, round, word := m.Max, m.LimitMax, quantity.Up, "at most"
	if !m.AtHigh {
		end, limit, round, word = m.Min, m.LimitMin, quantity.Down, "at least"
	}
	reach, bound := strings.TrimSpace(s.Text(end, round)), strings.TrimSpace(s.Text(limit, quantity.Near))
	if text == "" {
		text = m.Name + " reaches {reach}, the house allows " + word + " {limit}"
	}
	return strings.NewReplacer("{reach}", reach, "{limit}", bound).Replace(text)
}
