package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// boundsFlags are what bounds can be told.
type boundsFlags struct {
	format, color string
	deck          string // file for a witness deck; "": none
	end, regime   string
	inputs        inputs
}

func (a *app) bounds() *cobra.Command {
	var f boundsFlags
	c := &cobra.Command{
		Use:   "bounds NETLIST [WHAT...]",
		Short: "Print what nets can reach, with a state that attains each end",
		Long: `Print what nets can reach, with a state that attains each end.

WHAT is a net, "V(A)" for the same, "V(A,B)" for the voltage from B up to A, or "I(RSH)" for the current of a resistor, an
inductor or a voltage source from its first node to its second. Without any, the nets of all sense blocks are shown, and
where there is no sense block, all nets.

The exit code is 0, or 2 when an input cannot be read or something was asked for that is not there. A bound is evidence
for review, not a safety certificate.`,
		Example: "  shuntwright bounds winch.cir\n  shuntwright bounds winch.cir \"V(INP,INM)\" \"I(RSH)\"\n" +
			"  shuntwright bounds --witness-deck worst.cir --end low winch.cir INP",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("bounds: name a netlist")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if err := a.bound(f, args[0], args[1:]); err != nil {
				return fmt.Errorf("bounds: %w", err)
			}
			return nil
		},
	}
	c.Flags().StringVar(&f.format, "format", "text", "form of the output: text or json")
	f.inputs.flags(c)
	c.Flags().StringVar(&f.inputs.variants, "variant", "drawn", "bound this assembly variant `NAME` of intent; drawn for the drawing")
	c.Flags().StringVar(&f.deck, "witness-deck", "", "also write the state that attains one end of the one WHAT as a netlist to this `FILE`, for any simulator")
	c.Flags().StringVar(&f.end, "end", "high", "which `END` the deck attains: low or high")
	c.Flags().StringVar(&f.regime, "regime", "operating", "which `REGIME` the deck is of: operating or survival")
	c.Flags().StringVar(&f.color, "color", "auto", "colour in text: auto, always or never")
	return c
}

// mostNets is how many nets are shown where nobody said which.
const mostNets = 200

// worked is what came of asking for bounds.
type worked struct {
	bounds  *report.Bounds // nil where the netlist could not be read
	notes   []string
	unread  []report.Unread
	unknown []string // what was asked for and is not there
	paths   []string // of all files that were read
	deck    []string // the witness deck
	noDeck  error
}

// bound reads a netlist and prints the bounds that were asked for.
func (a *app) bound(f boundsFlags, path string, asked []string) error {
	color, err := a.colored(f.color)
	if err != nil {
		return err
	}
	var write func(io.Writer, *report.Bounds) error
	switch f.format {
	case "text":
		write = func(w io.Writer, b *report.Bounds) error { return report.BoundsText(w, b, color) }
	case "json":
		write = report.BoundsJSON
	default:
		return unknown("format", f.format, []string{"text", "json"})
	}
	if err := errors.Join(f.inputs.check(), f.check(asked)); err != nil {
		return err
	}
	if err := spares("--witness-deck "+f.deck, f.deck, f.inputs.files([]string{path})); f.deck != "" && err != nil {
		return err
	}

	f.inputs.houses = &a.houses
	line, ticks := a.progress()
	defer ticks.Stop()
	var done worked
	line.during(ticks.C, func(tell func(path, what string)) {
		stage := func(what string) { tell(shown(path), what) }
		late := worked{unread: []report.Unread{f.inputs.late(path)}}
		done = within(f.inputs.timeout, late, func(ctx context.Context) worked { return f.work(ctx, path, asked, a.rules, stage) })
	})
	for _, n := range done.notes {
		fmt.Fprintln(a.Err, report.Plain(n))
	}
	for _, u := range done.unread {
		a.cannot(u.String())
	}
	if done.bounds == nil {
		return nil
	}
	for _, t := range done.bounds.Troubles() {
		fmt.Fprintln(a.Err, t)
	}
	for _, u := range done.unknown {
		a.cannot(shown(path) + ": " + u)
	}
	if err := write(a.Out, done.bounds); err != nil {
		return err
	}
	switch {
	case f.deck == "" || len(done.unknown) > 0:
		return nil
	case done.noDeck != nil:
		return fmt.Errorf("--witness-deck: no state to write: %w", done.noDeck)
	}
	if err := spares("--witness-deck "+f.deck, f.deck, done.paths); err != nil {
		return err
	}
	return save(f.deck, plainLines(done.deck))
}

// check refuses flags that do not fit what is asked for.
func (f boundsFlags) check(asked []string) error {
	switch {
	case f.end != "low" && f.end != "high":
		return unknown("--end", f.end, []string{"low", "high"})
	case f.regime != "operating" && f.regime != "survival":
		return unknown("--regime", f.regime, []string{"operating", "survival"})
	case f.deck != "" && len(asked) != 1:
		return fmt.Errorf("--witness-deck %s: name the one WHAT that the deck is for", f.deck)
	}
	return nil
}

func plainLines(lines []string) []byte {
	var text strings.Builder
	for _, l := range lines {
		text.WriteString(report.Plain(l) + "\n")
	}
	return []byte(text.String())
}

// work reads the netlist and works out the bounds.
func (f boundsFlags) work(ctx context.Context, path string, asked []string, rs []*rules.Rule, stage func(string)) worked {
	read := f.inputs.read(ctx, path, rs, stage)
	out := worked{notes: read.notes, unread: read.unread}
	if read.design == nil {
		return out
	}
	d, notes, err := f.inputs.one(shown(path), read.design)
	out.notes = append(out.notes, notes...)
	if err != nil {
		out.unread = []report.Unread{{Path: shown(path), Message: err.Error()}}
		return out
	}
	stopped := d.Circuit.Cards.Stopped
	probes := f.probes(d, asked, &out)
	s := volt.New(d)
	list := make([]rules.Bound, 0, len(probes))
	for i, p := range probes {
		if stopped() != nil {
			break
		}
		stage(fmt.Sprintf("bounding, %d of %d done", i, len(probes)))
		list = append(list, p.Bound(d, s))
	}
	if f.deck != "" && len(probes) == 1 {
		r := design.Operating
		if f.regime == "survival" {
			r = design.Survival
		}
		out.deck, out.noDeck = probes[0].Deck(s, r, f.end == "high")
	}
	if err := stopped(); err != nil {
		return worked{unread: []report.Unread{{Path: shown(path), Message: err.Error()}}}
	}
	out.paths = d.Src.Paths()
	rep := &rules.Report{Design: d, Results: rules.FromDiagnostics(read.diags)}
	out.bounds = &report.Bounds{Netlist: report.Netlist{Path: shown(path), Intent: read.intent, Report: rep}, List: list, Cautions: rules.Dangers(probes, list)}
	return out
}

// probes are what is to be bounded: what was asked for, each once, or else the nets of sense blocks, or else all nets.
func (f boundsFlags) probes(d *design.Design, asked []string, out *worked) []rules.Probe {
	var probes []rules.Probe
	hints := source.Hints{Left: 2_000_000}
	for _, what := range asked {
		p, err := probe(d, what, &hints)
		switch {
		case err != nil:
			out.unknown = append(out.unknown, err.Error())
		case !slices.ContainsFunc(probes, func(o rules.Probe) bool { return o.Name == p.Name }):
			probes = append(probes, p)
		}
	}
	if len(asked) > 0 {
		return probes
	}
	if probes = rules.SenseProbes(d); len(probes) > 0 {
		return probes
	}
	for n := range d.Circuit.AllNets() {
		if n != 0 && len(probes) < mostNets {
			probes = append(probes, rules.NetProbe(d, n))
		}
	}
	if all := d.Circuit.Nets() - 1; all > len(probes) {
		out.notes = append(out.notes, fmt.Sprintf("%s: note: the first %d of %d nets are shown; name the ones you want", d.Src.Paths()[0], len(probes), all))
	}
	return probes
}

// function is V(...) or I(...).
var function = regexp.MustCompile(`^([VvIi])\(\s*(.*?)\s*\)$`)

// probe reads one WHAT.
func probe(d *design.Design, what string, hints *source.Hints) (p rules.Probe, err error) {
	if n, ok := d.Net(what); ok {
		return rules.NetProbe(d, n), nil
	}
	m := function.FindStringSubmatch(what)
	switch {
	case m == nil:
		return p, lost("net", what, hints, nets(d))
	case strings.EqualFold(m[1], "I"):
		e, ok := d.Find(m[2])
		if !ok {
			return p, lost("element", m[2], hints, elements(d))
		}
		if p, ok = rules.CurrentProbe(e); !ok {
			return p, fmt.Errorf("the current of %s is not told: only those of resistors, inductors and voltage sources are", e.Path())
		}
		return p, nil
	}
	if n, ok := d.Net(m[2]); ok {
		return rules.NetProbe(d, n), nil
	}
	var missing error
	for _, pair := range halves(m[2]) { // a net's name may hold a comma
		var at [2]circuit.Net
		found := true
		for i, name := range pair {
			n, ok := d.Net(name)
			if at[i] = n; !ok {
				found = false
				if missing == nil {
					missing = lost("net", name, hints, nets(d))
				}
			}
		}
		if found {
			return rules.DifferenceProbe(d, at[0], at[1]), nil
		}
	}
	if missing == nil {
		missing = lost("net", m[2], hints, nets(d))
	}
	return p, missing
}

// halves are the ways to part a text at a comma.
func halves(s string) (out [][2]string) {
	for i := range s {
		if s[i] == ',' {
			out = append(out, [2]string{strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+1:])})
		}
	}
	return out
}

// lost says that the netlist has nothing of that name, and what is near.
func lost(what, name string, hints *source.Hints, known iter.Seq[string]) error {
	if near := hints.Nearest(name, known); near != "" {
		return unknown(what, name, []string{near})
	}
	return fmt.Errorf("no %s %q", what, name)
}

func nets(d *design.Design) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, name := range d.Circuit.AllNets() {
			if !yield(name) {
				return
			}
		}
	}
}

func elements(d *design.Design) iter.Seq[string] {
	return func(yield func(string) bool) {
		for e := range d.Elements() {
			if !yield(e.Path()) {
				return
			}
		}
	}
}
