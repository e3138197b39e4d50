package rules

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A trouble is an id under which troubles with the inputs are reported.
type trouble struct {
	ID, Title string
	Kind      Kind
	Level     Level
}

// Troubles are the results that are about the inputs and not about a block, by id.
var Troubles = []trouble{
	{"netlist-card", "a card could not be read", KindFail, Error},
	{"netlist-title", "the title line looks like a card", KindFail, Warning},
	{"netlist-include", "an included file could not be read", KindFail, Error},
	{"netlist-limit", "the netlist is beyond what is safe to expand", KindFail, Error},
	{"netlist-subcircuit", "a subcircuit call does not fit", KindFail, Error},
	{"netlist-expression", "an expression has no value", KindFail, Error},
	{"netlist-blocks", "no sense block was found", KindOpen, 0},
	{"number-notation", "a number may not mean what it looks like", KindFail, Warning},
	{"record-field", "a field of a part record is wrong", KindFail, Error},
	{"intent-field", "a field of the intent is wrong", KindFail, Error},
	{"intent-name", "intent names what the netlist does not have", KindFail, Error},
	{"intent-disagreement", "netlist and intent disagree", KindFail, Warning},
	{"acceptance", "an acceptance does not stand", KindFail, Error},
	{"policy-field", "a field of the policy is wrong", KindFail, Error},
	{"house-rule", "a house rule could not be read or run", KindFail, Error},
	{"part-unknown", "a subcircuit has neither a body nor a part record", KindOpen, 0},
}

// FromDiagnostics turns troubles with the inputs into results.
func FromDiagnostics(diags []source.Diagnostic) []Result {
	var out []Result
	for _, d := range diags {
		r := Result{Rule: d.Rule, Kind: KindFail, Level: Error, Message: d.Text(), At: d.At, Related: d.Related}
		if i := slices.IndexFunc(Troubles, func(t trouble) bool { return t.ID == d.Rule }); i >= 0 {
			r.Kind, r.Level = Troubles[i].Kind, Troubles[i].Level
		}
		out = append(out, r)
	}
	return out
}

// unknownParts reports each subcircuit name that has neither a body nor a record, once, and a netlist without any
// sense block.
func unknownParts(d *design.Design, blocks int) (out []Result) {
	at := map[string]int{}
	var names []string
	known := map[string]bool{}
	for e := range d.Elements() {
		ref := e.Ref()
		if e.Kind() != 'X' {
			continue
		}
		if !slices.Contains(names, ref) {
			names = append(names, ref)
		}
		if e.Record() != nil {
			known[ref] = true
			continue
		}
		key := strings.ToLower(ref)
		if i, ok := at[key]; ok {
			out[i].Related = append(out[i].Related, source.Related{At: e.Card(), Message: e.Path() + " is one too"})
			continue
		}
		at[key] = len(out)
		out = append(out, Result{Rule: "part-unknown", Kind: KindOpen, At: e.Card(), Calls: e.Calls(),
			Message: fmt.Sprintf("%s calls %s, which has neither a .subckt body nor a part record", e.Path(), ref) + otherCodes(d, ref),
			Needs:   []quantity.Need{{In: "part records", Key: fmt.Sprintf(`a record with name = "%s" or match = ["%s"]`, ref, ref)}}})
	}
	if blocks > 0 {
		return out
	}
	cards := d.Circuit.Cards
	for _, sub := range cards.Subs[min(1, len(cards.Subs)):] {
		n := cards.Names[sub.Name]
		if !slices.ContainsFunc(names, func(o string) bool { return strings.EqualFold(o, n) }) {
			names = append(names, n)
		}
	}
	r := Result{Rule: "netlist-blocks", Kind: KindOpen, At: source.Span{Pos: source.Pos{File: cards.File}}}
	switch {
	case len(names) == 0:
		r.Message = "no sense block found: the netlist has no X card"
	default:
		slices.Sort(names)
		if len(names) > 12 {
			names = append(names[:12], "...")
		}
		r.Message = fmt.Sprintf("no sense block found: no part record of role sense-amplifier matches a subcircuit name; seen: %s", strings.Join(names, ", "))
		if i := slices.IndexFunc(names, func(n string) bool { return !known[n] && n != "..." }); i >= 0 {
			r.Needs = []quantity.Need{{In: "part records (parts/*.toml beside the netlist, or --parts)",
				Key: fmt.Sprintf(`a [[part]] with name = "%s", role = "sense-amplifier" and its pins`, names[i])}}
		}
		for e := range d.Elements() {
			if e.OpAmps() != nil {
				r.Message += "; no op amp follows both ends of a shunt, a resistor of at most 1 ohm or one whose current is declared"
				break
			}
		}
	}
	return append(out, r)
}

// otherCodes tells which codes the records have of a part whose name a subcircuit begins with.
func otherCodes(d *design.Design, ref string) string {
	if others := d.Parts.Beginning(ref); len(others) > 0 {
		var names []string
		for _, r := range others {
			names = append(names, r.Name())
		}
		return "; the records know " + strings.Join(names, ", ")
	}
	return ""
}

// hazardous is the DC voltage, in volts, above which a net in scope is named in the cautions: the limit that product
// standards use for extra-low voltage (IEC 60598-1:2008, 8.2.3).
const hazardous = 60

// A danger is a net that can exceed 60 V DC.
type danger struct {
	net  string
	most float64 // V
}

// dangers are the nets of a block that can exceed 60 V DC against node 0. The shunt stands where the inputs do, so it
// is looked at only where they are in danger.
func dangers(d *design.Design, s *volt.Solver, b *sense.Block) (out []danger) {
	seen := map[circuit.Net]bool{0: true}
	look := func(nets ...circuit.Net) {
		for _, n := range nets {
			if seen[n] {
				continue
			}
			seen[n] = true
			reach := quantity.Nothing
			for _, r := range []design.Regime{design.Operating, design.Survival} {
				reach = reach.Union(s.Bound(volt.At(n), r).Seen)
			}
			if most := max(reach.Hi, -reach.Lo); !reach.Empty() && most > hazardous {
				out = append(out, danger{d.Circuit.NetName(n), most})
			}
		}
	}
	look(b.Plus.Pin, b.Minus.Pin, b.Supply)
	if out != nil {
		look(b.Plus.Shunt, b.Minus.Shunt)
		slices.Reverse(out) // a person knows the shunt's nets better than the filter's
	}
	return out
}

// caution words the dangers of a whole netlist.
func caution(all []danger) []string {
	var nets []string
	most := 0.0
	for _, d := range all {
		if !slices.Contains(nets, d.net) {
			nets = append(nets, d.net)
		}
		most = max(most, d.most)
	}
	if nets == nil {
		return nil
	}
	level := "without bound"
	if known(most) {
		level = "up to " + quantity.ScaleFor(quantity.Volt, most).Text(most, quantity.Up)
	}
	if len(nets) > 6 {
		nets = append(nets[:6], fmt.Sprintf("%d more nets", len(nets)-6))
	}
	return []string{fmt.Sprintf("%s can exceed 60 V DC, %s: hazardous voltage; follow local codes and have a qualified person review the work",
		strings.Join(nets, ", "), level)}
}
