package report

import (
	"strings"

	"github.com/fatih/color"

	"github.com/shuntwright/shuntwright/rules"
)

// word is what the first line of a finding calls it.
func word(r rules.Result) string {
	if r.Accepted != nil {
		return "accepted"
	}
	switch r.Kind {
	case rules.KindFail:
		return r.Level.String()
	case rules.KindOpen:
		return "undecided"
	case rules.KindNotApplicable:
		return "not applicable"
	}
	return r.Kind.String()
}

// A paint colours words. It repeats what they say and is left off without loss.
type paint map[string]*color.Color

func newPaint(on bool) paint {
	p := paint{
		"error":     color.New(color.FgRed, color.Bold),
		"warning":   color.New(color.FgYellow, color.Bold),
		"note":      color.New(color.FgCyan),
		"review":    color.New(color.FgMagenta),
		"undecided": color.New(color.FgBlue, color.Bold),
		"pass":      color.New(color.FgGreen),
		"accepted":  color.New(color.FgGreen),
		"caution":   color.New(color.FgRed),
	}
	for _, c := range p {
		if on {
			c.EnableColor()
		} else {
			c.DisableColor()
		}
	}
	return p
}

func (p paint) word(w string) string {
	if c := p[w]; c != nil {
		return c.Sprint(w)
	}
	return w
}

// subject is the block of a result and the assembly variant that it is of, as in "XA (lite)"; "" where it has neither.
func subject(r rules.Result) string {
	if r.Variant == "" {
		return r.Block
	}
	return strings.TrimLeft(r.Block+" ("+r.Variant+")", " ")
}

// title is what a result is about and its rule.
func title(r rules.Result) string { return strings.TrimLeft(subject(r)+" "+r.Rule, " ") }
