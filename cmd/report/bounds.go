package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// Bounds are what was asked for of one netlist. Of its report only the design and the troubles with inputs count.
type Bounds struct {
	Netlist
	List     []rules.Bound
	Cautions []string
}

// regimes are in the order in which they are printed.
var regimes = []design.Regime{design.Operating, design.Survival}

// Troubles are the troubles with the inputs, one line each in the form that editors parse.
func (n *Netlist) Troubles() (lines []string) {
	for _, r := range n.Report.Results {
		lines = append(lines, fmt.Sprintf("%s: %s: %s: %s", position(n.place(r.At)), word(r), Plain(r.Rule), Plain(r.Message)))
	}
	return lines
}

// BoundsText prints each bound as a trace to be checked by hand: how far it reaches, and for each end one state that
// attains it.
func BoundsText(w io.Writer, b *Bounds, color bool) error {
	out := bufio.NewWriter(w)
	p := newPaint(color)
	for _, x := range b.List {
		fmt.Fprintf(out, "%s: %s\n", plainPath(x.Name), headline(x, p))
		for _, line := range lay(b.trace(x)) {
			fmt.Fprintln(out, line)
		}
	}
	if len(b.Cautions) > 0 {
		fmt.Fprintln(out)
	}
	for _, c := range b.Cautions {
		fmt.Fprintf(out, "%s: %s: %s\n", plainPath(b.Path), p.word("caution"), Plain(c))
	}
	return out.Flush()
}

// headline is the reach in both regimes.
func headline(x rules.Bound, p paint) string {
	o, s := x.Reach[design.Operating], x.Reach[design.Survival]
	sc := boundScale(x)
	low, _ := x.SameEnd(false)
	high, _ := x.SameEnd(true)
	switch {
	case x.Same():
		return reachText(o, sc, p) + ", in survival the same"
	case low && high && !o.Seen.Empty():
		return reachText(o, sc, p) + ", in survival at least that"
	}
	return reachText(o, sc, p) + " operating, " + reachText(s, sc, p) + " survival"
}

// boundScale is one prefix for all figures of a bound.
func boundScale(x rules.Bound) quantity.Scale {
	var figures []float64
	for _, r := range x.Reach {
		figures = append(figures, r.Seen.Lo, r.Seen.Hi)
		if r.Seen.Empty() {
			figures = append(figures, r.Sound.Lo, r.Sound.Hi)
		}
	}
	return quantity.ScaleFor(x.Unit, figures...)
}

func reachText(r rules.Reach, sc quantity.Scale, p paint) string {
	switch {
	case r.Seen.Empty():
		return p.word("undecided")
	case r.Seen.Lo == r.Seen.Hi:
		return sc.Text(r.Seen.Lo, quantity.Near)
	}
	return sc.Text(r.Seen.Lo, quantity.Down) + " .. " + sc.Text(r.Seen.Hi, quantity.Up)
}

// trace is what stands under a headline.
func (b *Bounds) trace(x rules.Bound) (rows []row) {
	sc := boundScale(x)
	var needs []quantity.Need
	var assumed []string
	for _, regime := range regimes {
		r := x.Reach[regime]
		if regime == design.Survival && x.Same() {
			break
		}
		when := ""
		if !x.Same() {
			when = ", " + regime.String()
		}
		for _, n := range r.Needs {
			if !slices.Contains(needs, n) {
				needs = append(needs, n)
			}
		}
		for _, a := range r.Assumed {
			if !slices.Contains(assumed, a) {
				assumed = append(assumed, a)
			}
		}
		if r.Seen.Empty() {
			if finite(r.Sound.Lo) && finite(r.Sound.Hi) {
				rows = append(rows, row{word: "reach", text: fmt.Sprintf(" between %s and %s%s, whatever is missing",
					sc.Text(r.Sound.Lo, quantity.Down), sc.Text(r.Sound.Hi, quantity.Up), when)})
			}
			continue
		}
		for _, high := range []bool{false, true} {
			told, all := x.SameEnd(high)
			if told = told && regime == design.Survival; told && all {
				continue
			}
			which := "lowest"
			if high {
				which = "highest"
			}
			if r.Seen.Lo == r.Seen.Hi {
				if which = "in every state"; high {
					continue
				}
			}
			rows = append(rows, b.end(r, sc, high, which+when)...)
			if !told {
				rows = append(rows, b.state(ends(r, high))...)
			}
		}
	}
	for _, a := range assumed {
		rows = append(rows, row{word: "rests-on", text: " " + Plain(a)})
	}
	for _, need := range needs {
		rows = append(rows, row{word: "missing", text: " " + Plain(need.String()), from: b.short(need.At, b.Path)})
	}
	return rows
}

func ends(r rules.Reach, high bool) rules.End {
	if high {
		return r.High
	}
	return r.Low
}

// end is how far one end reaches, and how far beyond it nothing can lie where that is not the same.
func (b *Bounds) end(r rules.Reach, sc quantity.Scale, high bool, which string) []row {
	if e := ends(r, high); !e.Shown {
		return []row{{word: "reach", text: " unbounded   " + which + ": " + Plain(e.Reason)}}
	}
	v, rounding := r.Seen.Lo, towards(high)
	if high {
		v = r.Seen.Hi
	}
	point := r.Seen.Lo == r.Seen.Hi
	if point {
		rounding = quantity.Near
	}
	t := sc.Text(v, rounding)
	if !strings.HasPrefix(t, "-") {
		t = " " + t
	}
	t += "   " + which
	var beyond []string
	if low := sc.Text(r.Sound.Lo, quantity.Down); r.Low.Wider && (point || !high) && (!finite(r.Sound.Lo) || low != sc.Text(r.Seen.Lo, rounding)) {
		beyond = append(beyond, "nothing below "+low)
	}
	if top := sc.Text(r.Sound.Hi, quantity.Up); r.High.Wider && (point || high) && (!finite(r.Sound.Hi) || top != sc.Text(r.Seen.Hi, rounding)) {
		beyond = append(beyond, "nothing above "+top)
	}
	unproven := ends(r, high).Unproven
	for i, side := range beyond {
		if strings.HasSuffix(side, "unbounded") {
			beyond = append(beyond[:i], "how far beyond nobody said")
			if unproven != "" {
				beyond[i] = "how far beyond is not proved: " + Plain(unproven)
			}
			break
		}
	}
	if len(beyond) > 0 {
		t += "; " + strings.Join(beyond, ", ")
		if r.Loose && unproven == "" {
			t += " (loose)"
		}
	}
	return []row{{word: "reach", text: t}}
}

// state is the witness of an end: the path that sets it, the figures that decide it, switches and diodes.
func (b *Bounds) state(e rules.End) (rows []row) {
	if !e.Shown {
		return nil
	}
	add := func(text, from string) {
		r := row{text: " " + Plain(text), from: from}
		if rows == nil {
			r.word = "witness"
		}
		rows = append(rows, r)
	}
	for _, path := range [][]string{e.Path, e.Base} {
		if len(path) > 1 {
			add(strings.Join(path, " - "), "")
		}
	}
	var figures []quantity.State
	width := 0
	for _, s := range e.Deciding {
		if s.Label() == "" {
			figures = append(figures, s)
			width = max(width, utf8.RuneCountInString(Plain(s.Name)))
		}
	}
	for i, s := range figures {
		if i == mostStates {
			add(fmt.Sprintf("%d more", len(figures)-i), "")
			break
		}
		name := Plain(s.Name)
		add(name+pad(name, min(width, 48))+"  "+stateFigure(s), b.short(s.At, b.Path))
	}
	var switches []string
	for _, list := range [][]quantity.State{e.Deciding, e.States} {
		for _, s := range list {
			if l := s.Label(); l != "" && !slices.Contains(switches, l) {
				switches = append(switches, l)
			}
		}
	}
	if len(switches) > 0 {
		add(first(switches, mostStates, ", "), "")
	}
	how := map[string][]string{}
	for _, d := range e.Diodes {
		word := "blocking"
		if d.Conducts {
			word = "conducting"
		}
		how[word] = append(how[word], d.Name)
	}
	for _, o := range e.Stops {
		word := "stopped low"
		if o.High {
			word = "stopped high"
		}
		how[word] = append(how[word], o.Of)
	}
	var stand []string
	for _, word := range []string{"conducting", "blocking", "stopped low", "stopped high"} {
		if names := how[word]; names != nil {
			stand = append(stand, word+": "+first(names, mostStates, ", "))
		}
	}
	if stand != nil {
		add(strings.Join(stand, "; "), "")
	}
	return rows
}

// stateFigure is the value of a cause. A share of one is a hundred per cent; a direction is a sign.
func stateFigure(s quantity.State) string {
	switch {
	case s.States != nil:
		return fmt.Sprintf("%+g", s.Value)
	case s.Unit == quantity.Ratio && math.Abs(s.Value) == 1:
		return fmt.Sprintf("%g %%", 100*s.Value)
	}
	return quantity.Show(s.Value, s.Unit)
}
