package report

import (
	"cmp"
	"io"
	"math"
	"time"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// jsonSchema names the form of the JSON result. Keys may be added under one number; taking one away, giving it another
// type or another meaning needs the next.
const jsonSchema = "shuntwright/1"

type (
	jsonRun struct {
		Schema   string        `json:"schema"`
		Tool     jsonTool      `json:"tool"`
		Netlists []jsonNetlist `json:"netlists"`
		Unread   []jsonUnread  `json:"unread,omitempty"`
		Summary  Summary       `json:"summary"`
	}
	jsonTool struct {
		Name    string `json:"name"`
		Version string `json:"version"`
	}
	jsonNetlist struct {
		Path     string       `json:"path"`
		Blocks   []jsonBlock  `json:"blocks"`
		Results  []jsonResult `json:"results"`
		Cautions []string     `json:"cautions"`
		Growth   []jsonGrowth `json:"growth,omitempty"` // with --margins
		Ledger   *ledger      `json:"ledger,omitempty"` // with --ledger
		Variants []string     `json:"variants,omitempty"`
	}
	jsonUnread struct {
		Path    string `json:"path"`
		Line    int    `json:"line,omitempty"`
		Column  int    `json:"column,omitempty"`
		Message string `json:"message"`
	}
	jsonBlock struct {
		Name    string            `json:"name"`
		Kind    string            `json:"kind"`
		Part    *string           `json:"part"`
		Path    string            `json:"path"`
		Line    int               `json:"line"`
		Shunt   []string          `json:"shunt"`
		Pins    map[string]string `json:"pins"`
		Variant string            `json:"variant,omitempty"`
	}
	jsonResult struct {
		Rule       string         `json:"rule"`
		Kind       string         `json:"kind"`
		Level      string         `json:"level,omitempty"`
		Block      *string        `json:"block"`
		Variant    string         `json:"variant,omitempty"`
		Message    string         `json:"message"`
		Location   jsonLocation   `json:"location"`
		Instances  []string       `json:"instances"`
		Quantities []jsonQuantity `json:"quantities"`
		Related    []jsonRelated  `json:"related"`
		Missing    []string       `json:"missing"`
		Grade      string         `json:"grade"`
		Assumed    []string       `json:"assumed"`
		Remedy     *jsonRemedy    `json:"remedy"`
		Advice     string         `json:"advice,omitempty"`
		Accepted   *jsonAccepted  `json:"accepted"`
		Follows    string         `json:"follows,omitempty"` // the rule of the same block whose finding tells this one
	}
	jsonAccepted struct {
		At       string       `json:"at"`
		Variant  string       `json:"variant,omitempty"`
		Because  string       `json:"because"`
		Until    string       `json:"until,omitempty"`
		Owner    string       `json:"owner,omitempty"`
		Margin   []string     `json:"margin"`
		Location jsonLocation `json:"location"`
	}
	jsonLocation struct {
		Path      string `json:"path"`
		Line      int    `json:"line"`
		Column    int    `json:"column"`
		EndLine   int    `json:"endLine"`
		EndColumn int    `json:"endColumn"`
	}
	jsonQuantity struct {
		Name       string     `json:"name"`
		Min        number     `json:"min"`
		Max        number     `json:"max"`
		Unit       string     `json:"unit"`
		LimitMin   number     `json:"limitMin"`
		LimitMax   number     `json:"limitMax"`
		Margin     number     `json:"margin"`
		Kind       string     `json:"kind"`
		End        string     `json:"end"` // the end that decides: min or max
		Reason     string     `json:"reason,omitempty"`
		SoundMin   *number    `json:"soundMin,omitempty"`
		SoundMax   *number    `json:"soundMax,omitempty"`
		Loose      bool       `json:"loose,omitempty"`
		Arithmetic string     `json:"arithmetic,omitempty"`
		Limit      string     `json:"limit,omitempty"`
		From       []jsonFrom `json:"from"`
		LimitFrom  []jsonFrom `json:"limitFrom"`
		Witness    []string   `json:"witness"`
	}
	jsonFrom struct {
		Path *string `json:"path"`
		Line *int    `json:"line"`
		Text string  `json:"text"`
	}
	jsonRelated struct {
		Location jsonLocation `json:"location"`
		Message  string       `json:"message"`
	}
	jsonRemedy struct {
		Text    string   `json:"text"`
		Changes []string `json:"changes"`
		Breaks  []string `json:"breaks"`
	}
)

// JSON prints every result, one per rule and instance, for programs.
func JSON(w io.Writer, run *Run) error {
	out := jsonRun{
		Schema:   jsonSchema,
		Tool:     jsonTool{"shuntwright", run.Version},
		Netlists: []jsonNetlist{},
		Summary:  run.Summary(),
	}
	for i := range run.Netlists {
		j := run.Netlists[i].json()
		if run.Ledger {
			l := run.Netlists[i].ledger()
			j.Ledger = &l
		}
		out.Netlists = append(out.Netlists, j)
	}
	for _, u := range run.Unread {
		out.Unread = append(out.Unread, jsonUnread(u))
	}
	return encode(w, out)
}

func (n *Netlist) json() jsonNetlist {
	out := jsonNetlist{Path: n.Path, Blocks: []jsonBlock{}, Results: []jsonResult{}, Cautions: some(n.Report.Cautions), Growth: n.jsonGrowth(), Variants: n.Variants}
	for _, b := range n.Report.Blocks {
		at := n.place(b.At)
		j := jsonBlock{Name: b.Name, Kind: b.Kind, Part: named(b.Part), Path: at.Path, Line: at.Line, Shunt: some(b.Shunt), Pins: b.Pins, Variant: b.Variant}
		if j.Pins == nil {
			j.Pins = map[string]string{}
		}
		out.Blocks = append(out.Blocks, j)
	}
	for _, r := range n.Report.Results {
		out.Results = append(out.Results, n.jsonResult(r))
	}
	return out
}

func (n *Netlist) jsonResult(r rules.Result) jsonResult {
	out := jsonResult{
		Rule:       r.Rule,
		Kind:       r.Kind.String(),
		Block:      named(r.Block),
		Variant:    r.Variant,
		Message:    r.Message,
		Location:   n.location(r.At),
		Instances:  []string{},
		Quantities: []jsonQuantity{},
		Related:    []jsonRelated{},
		Missing:    missing(r.Needs),
		Grade:      r.Grade.String(),
		Assumed:    some(r.Assumed),
		Advice:     r.Advice,
		Follows:    r.Follows,
	}
	if r.Kind == rules.KindFail {
		out.Level = r.Level.String()
	}
	if r.Block != "" {
		out.Instances = append(out.Instances, r.Block)
	}
	for _, m := range r.Measures {
		out.Quantities = append(out.Quantities, n.quantity(m))
	}
	for _, x := range n.related(r) {
		out.Related = append(out.Related, jsonRelated{n.location(x.At), x.Message})
	}
	if a := r.Accepted; a != nil {
		out.Accepted = &jsonAccepted{At: a.Pattern, Variant: a.Variant, Because: a.Because, Owner: a.Owner, Margin: some(a.Margins), Location: n.location(a.At)}
		if !a.Until.IsZero() {
			out.Accepted.Until = a.Until.Format(time.DateOnly)
		}
	}
	if r.Remedy != nil {
		out.Remedy = &jsonRemedy{Text: r.Remedy.Text, Changes: []string{}, Breaks: some(r.Remedy.Breaks)}
		for _, c := range r.Remedy.Changes {
			out.Remedy.Changes = append(out.Remedy.Changes, c.String())
		}
	}
	return out
}

// related are the calls that lead to the card, innermost first, and what else belongs to a result.
func (n *Netlist) related(r rules.Result) (out []source.Related) {
	for _, c := range r.Calls {
		out = append(out, source.Related{At: c, Message: "called here"})
	}
	return append(append(out, r.Related...), r.Brings...)
}

func (n *Netlist) location(at source.Span) jsonLocation {
	p := n.place(at)
	return jsonLocation{p.Path, p.Line, p.Column, p.EndLine, p.EndCol}
}

func (n *Netlist) quantity(m rules.Measure) jsonQuantity {
	out := jsonQuantity{
		Name: m.Name, Unit: unit(m.Unit),
		Min: number(m.Min), Max: number(m.Max), LimitMin: number(m.LimitMin), LimitMax: number(m.LimitMax),
		Margin: number(m.Margin), Kind: m.Kind.String(), End: "min",
		Loose: m.Loose, Arithmetic: m.Arithmetic, Limit: m.LimitText,
		From: n.from(m.From), LimitFrom: n.from(m.LimitFrom), Witness: some(m.Witness),
	}
	if m.AtHigh {
		out.End = "max"
	}
	if !finite(m.Min) || !finite(m.Max) {
		out.Reason = m.Reason
		if math.IsNaN(m.Min) || math.IsNaN(m.Max) {
			out.Reason = cmp.Or(out.Reason, "not declared")
		}
		out.Reason = cmp.Or(out.Reason, "nothing limits it")
	}
	if m.SoundMin != m.Min {
		out.SoundMin = number(m.SoundMin).known()
	}
	if m.SoundMax != m.Max {
		out.SoundMax = number(m.SoundMax).known()
	}
	return out
}

func (n *Netlist) from(from []rules.From) []jsonFrom {
	out := []jsonFrom{}
	for _, f := range from {
		j := jsonFrom{Text: f.Text}
		if !f.At.None() {
			p := n.place(f.At)
			j.Path, j.Line = &p.Path, &p.Line
		}
		out = append(out, j)
	}
	return out
}

// unit is the unit of a number in SI: a ratio is a plain fraction, also where people see percent.
func unit(u quantity.Unit) string {
	if u.Symbol == "" || u.Symbol == "%" {
		return "1"
	}
	return u.Symbol
}

// some is the list itself, or an empty one: never null.
func some(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

func named(name string) *string {
	if name == "" {
		return nil
	}
	return &name
}
