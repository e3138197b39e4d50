package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/pin-map.md
var pinMapPage string

// PinMap compares the order of pins that the record gives with the port names of the part's .subckt and with the pins of
// its package, and looks for pins that stand where such a pin cannot.
var PinMap = &rules.Rule{
	ID:    "pin-map",
	Title: "pins in another order than the record's",
	Level: rules.Error,
	Page:  pinMapPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		absurd := misplaced(p)
		ports, known := portsAgree(p)
		packages := packagesAgree(p)
		if !absurd && !ports && !packages {
			if known {
				p.Holds("the ports of .subckt " + p.Amp.Ref() + " are named in the order of the record's pins")
				return
			}
			if rewired(p) { // a remedy has moved a pin: there was something to find
				p.Holds("every pin stands where such a pin can")
				return
			}
			p.Skip("neither port names nor a package tell the order of the pins a second time")
		}
	},
}

// A pinPlace is a pin with the net that it stands on.
type pinPlace struct {
	role string
	net  circuit.Net
}

// misplaced reports pins that stand where such a pin cannot: it says whether there are any. What is offered is to exchange
// the pin with another.
func misplaced(p *rules.Bench) (found bool) {
	var pins []pinPlace
	for _, role := range part.Roles {
		if n, ok := p.Pin(role); ok && role != "nc" {
			pins = append(pins, pinPlace{role, n})
		}
	}
	on := func(role string) (circuit.Net, bool) { return p.Pin(role) }
	name := p.Design.Circuit.NetName
	breach := func(role, text string, first ...string) {
		found = true
		advice := "compare the order of the nets on the card of " + p.Amp.Path() + " with the pins of its record"
		if len(first) > 0 {
			advice += ": " + role + " and " + first[0] + " may be exchanged"
		}
		c := p.Breach(text).Advise(advice)
		for _, other := range first {
			c.Try(role+" and "+other+" of "+p.Name()+" exchanged", pinsSwapped(p, role, other)...)
		}
		for _, o := range pins {
			if o.role != role && !slices.Contains(first, o.role) {
				c.Try(role+" and "+o.role+" of "+p.Name()+" exchanged", pinsSwapped(p, role, o.role)...)
			}
		}
	}
	supply, hasSupply := on("supply")
	ground, hasGround := on("ground")
	switch {
	case hasSupply && hasGround && supply == ground:
		breach("supply", fmt.Sprintf("supply and ground are both on %s", name(ground)))
	case hasSupply && hasGround:
		if q := p.Voltage("supply", design.Operating); q.Known() && !q.Seen.Empty() && q.Sound.Hi <= 0 {
			what := fmt.Sprintf("ground is on %s and supply on %s, which is never above it", name(ground), name(supply))
			if supply == 0 {
				what = fmt.Sprintf("supply is on ground, and ground on %s", name(ground))
			}
			breach("supply", what, "ground")
		}
	}
	if out, ok := on("out"); ok {
		switch e, driven := sourceOn(p, out); {
		case out == 0 || hasGround && out == ground:
			breach("out", "out is on ground", "ground")
		case hasSupply && out == supply:
			breach("out", "out is on the supply "+name(out), "supply")
		case driven:
			breach("out", fmt.Sprintf("out is on %s, which %s drives", name(out), e.Path()), "supply")
		}
		for _, role := range []string{"in+", "in-"} {
			if n, ok := on(role); ok && n == out {
				breach("out", fmt.Sprintf("out and %s are both on %s", role, name(out)))
			}
		}
	}
	if !found && hasGround {
		for _, role := range []string{"ref", "ref-a", "ref-b"} {
			if n, ok := on(role); ok && n != ground {
				if q := p.Voltage(role, design.Operating); q.Known() && !q.Seen.Empty() && q.Sound.Hi < 0 {
					breach(role, fmt.Sprintf("%s on %s is below the part's own ground on %s", role, name(n), name(ground)), "ground")
				}
			}
		}
	}
	return found
}

// rewired tells that a change has moved a pin of the amplifier from where it is drawn.
func rewired(p *rules.Bench) bool {
	for i, n := range p.Design.Circuit.ElementPins(p.Amp.ID) {
		if p.Amp.Pin(i) != n {
			return true
		}
	}
	return false
}

// sourceOn is a voltage source that holds a net.
func sourceOn(p *rules.Bench, n circuit.Net) (design.Element, bool) {
	if _, held := p.Design.Rail(n, design.Operating); !held || p.Design.Intent.Says("rails", p.Design.Circuit.NetName(n)) {
		return design.Element{}, false
	}
	for e := range p.Design.On(n) {
		if e.Kind() == 'V' {
			return e, true
		}
	}
	return design.Element{}, false
}

// portsAgree holds the port names of the part's .subckt, where they are roles or names that the record gives for one, to
// the record's pins: bad tells that they differ, known that some could be compared.
func portsAgree(p *rules.Bench) (bad, known bool) {
	r := p.Amp.Record()
	pins := r.Pins()
	for i, port := range p.Design.Circuit.Ports(p.Amp.Ref()) {
		for k, role := range pins {
			if role == "nc" || !strings.EqualFold(port, role) && !slices.ContainsFunc(r.PinNames(role), func(n string) bool { return strings.EqualFold(n, port) }) {
				continue
			}
			known = true
			if k == i {
				break
			}
			has := "nothing"
			if i < len(pins) {
				has = pins[i]
			}
			p.Breach(fmt.Sprintf("port %d of .subckt %s is %s, the %s pin, where the record %s has %s", i+1, p.Amp.Ref(), port, role, r.Name(), has)).
				Evidence(pinsAt(r)...).Advise("put the pins of the record into the order of the ports, or correct the .subckt")
			return true, true
		}
	}
	return false, known
}

// packagesAgree holds the pins of the part's package to the record's pins; said tells that it had something to compare.
func packagesAgree(p *rules.Bench) (said bool) {
	r := p.Amp.Record()
	packages := r.Packages()
	path := p.Amp.Path()
	if e := p.Design.Intent.Get("elements", path, "package"); e != nil {
		i := slices.IndexFunc(packages, func(k part.Package) bool { return strings.EqualFold(k.Name, e.Text) })
		if i < 0 {
			p.Lacks("", p.Amp.PartNeed(design.Key("packages", e.Text)))
			return true
		}
		packages = packages[i : i+1]
	}
	if len(packages) == 0 {
		return false
	}
	var agree []string
	for _, k := range packages {
		if _, _, differs := differing(k.Roles, r.Pins()); !differs {
			agree = append(agree, k.Name)
		}
	}
	switch len(agree) {
	case len(packages):
		p.Holds(fmt.Sprintf("the nets stand in the order of the pins of %s", strings.Join(agree, ", ")))
	case 0:
		k := packages[0]
		at, has, _ := differing(k.Roles, r.Pins())
		text := fmt.Sprintf("pin %d of %s is %s, where the record %s lists %s", at+1, k.Name, k.Roles[at], r.Name(), has)
		if len(packages) > 1 {
			text = fmt.Sprintf("the pins of the record %s are in the order of none of its packages: pin %d of %s is %s, not %s", r.Name(), at+1, k.Name, k.Roles[at], has)
		}
		p.Breach(text).Evidence(append(pinsAt(r), source.Related{At: k.At, Message: "the package"})...).
			Advise("use the symbol of the package that is fitted, and pins in its order")
	default:
		p.Lacks("", quantity.Need{In: "intent", Key: design.Key("elements", path, "package"), At: p.Amp.Card()})
	}
	return true
}

func pinsAt(r *part.Record) []source.Related {
	if e := r.Get("pins"); e != nil {
		return []source.Related{{At: e.At, Message: "the record's pins"}}
	}
	return nil
}

// differing is the first pin of a package, from 0, at which another list of roles has another one. Unconnected pins and
// pins that share a role with an earlier one count only in lists of one length.
func differing(pins, list []string) (at int, has string, differs bool) {
	where := make([]int, len(pins))
	for i := range where {
		where[i] = i
	}
	if len(pins) != len(list) {
		where, list = firstOfRole(pins), picked(list, firstOfRole(list))
	}
	for i, k := range where {
		has = "nothing"
		if i < len(list) {
			has = list[i]
		}
		if !strings.EqualFold(pins[k], has) {
			return k, has, true
		}
	}
	if len(list) > len(where) { // the package ends before the list does
		return max(len(pins)-1, 0), list[len(where)], len(pins) > 0
	}
	return 0, "", false
}

// firstOfRole are the places of connected roles, each the first time.
func firstOfRole(list []string) (at []int) {
	seen := map[string]bool{"nc": true}
	for i, role := range list {
		if role = strings.ToLower(role); !seen[role] {
			seen[role] = true
			at = append(at, i)
		}
	}
	return at
}

func picked(list []string, at []int) (out []string) {
	for _, i := range at {
		out = append(out, list[i])
	}
	return out
}
