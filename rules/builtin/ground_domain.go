package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/ground-domain.md
var groundDomainPage string

// GroundDomain asks whether an amplifier that is not isolated stands in two ground domains that nothing joins, and whether it brings
// a hazardous voltage into one that people can touch.
var GroundDomain = &rules.Rule{
	ID:    "ground-domain",
	Title: "amplifier bridges ground domains",
	Level: rules.Error,
	Page:  groundDomainPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		d := p.Design
		w := domainsOf(d)
		if len(w.names) == 0 {
			p.Skip("no ground domains are declared")
			return
		}
		ground, ok := p.Pin("ground")
		if !ok {
			p.Need(quantity.Need{In: "part record", Key: p.Amp.Record().Name() + ` pins with "ground"`, At: p.Amp.Record().At()})
			return
		}
		if e := p.Amp.Entry("isolated"); e != nil && e.Flag {
			p.Holds(p.Amp.Record().Name() + " is isolated")
			return
		}
		home, ok := w.of(ground)
		if !ok {
			p.Lacks("", w.need(ground))
			return
		}
		known := false
		for _, role := range []string{"in+", "in-", "supply", "ref", "ref-a", "ref-b", "out", "enable", "clock", "data", "alert", "address"} {
			n, ok := p.Pin(role)
			if !ok {
				continue
			}
			at, ok := w.of(n)
			if !ok {
				continue
			}
			known = known || strings.HasPrefix(role, "in")
			if at == home {
				continue
			}
			if by, tied := w.tie(at, home); tied {
				p.Holds(fmt.Sprintf("%s and %s are joined by %s", at, home, by))
				continue
			}
			p.Breach(fmt.Sprintf("%s is in %s and ground in %s: %s is not isolated, and nothing joins the two", role, at, home, p.Amp.Record().Name())).
				Evidence(source.Related{At: w.at[at], Message: "the domain of " + role}, source.Related{At: w.at[home], Message: "the domain of ground"}).
				Advise("an isolated part, or one in the domain that it measures in; where both are joined at one point, ties.NAME.joins says so")
		}
		if !known {
			if n, ok := p.Pin("in+"); ok {
				p.Lacks("", w.need(n))
			}
			return
		}
		p.Holds("every pin is in " + home + " or in a domain that is joined to it")
		if e := d.Intent.Get("domains", home, "accessible"); e == nil || !e.Flag {
			return
		}
		limit := func(v float64) quantity.Quantity { return quantity.Exactly("hazard", quantity.Volt, v) }
		for _, role := range []string{"in+", "in-"} {
			q := p.Voltage(role, design.Operating)
			p.Within(q, limit(-hazardous), limit(hazardous), "60 V DC").Fails(func(m rules.Measure) string {
				end := m.Max
				if !m.AtHigh {
					end = m.Min
				}
				if unlimited(end) {
					return fmt.Sprintf("%s is unbounded against the ground of %s, which people can touch, and %s is not isolated", role, home, p.Amp.Record().Name())
				}
				return fmt.Sprintf("%s reaches %s against the ground of %s, which people can touch, and %s is not isolated", role,
					quantity.ScaleFor(quantity.Volt, end).Text(end, quantity.Near), home, p.Amp.Record().Name())
			}).Path(func(high bool) string { return p.Path(role, design.Operating, q, high) }).Advise("an isolated part, with an isolation that is rated for it")
		}
	},
}

// hazardous is from where a DC voltage is no longer of energy source class 1 (IEC 62368-1, table 4), in volts.
const hazardous = 60

// domains are the declared ground domains of a design.
type domains struct {
	d     *design.Design
	names []string
	in    map[circuit.Net]string
	at    map[string]source.Span
}

func domainsOf(d *design.Design) *domains {
	w := &domains{d: d, in: map[circuit.Net]string{}, at: map[string]source.Span{}}
	for _, name := range d.Intent.Names("domains") {
		e := d.Intent.Get("domains", name, "nets")
		if e == nil {
			continue
		}
		w.names, w.at[name] = append(w.names, name), e.At
		for _, net := range e.Names {
			if n, ok := d.Net(net); ok {
				w.in[n] = name
			}
		}
	}
	return w
}

// mostDomain is how many nets are looked at for one that a domain lists.
const mostDomain = 512

// of is the domain of a net: that which lists it, else that of the nearest listed net over what conducts. What has the pins of
// an amplifier does not; from a rail only its source and what is wired to it lead on.
func (w *domains) of(n circuit.Net) (string, bool) {
	list, seen := []circuit.Net{n}, map[circuit.Net]bool{n: true}
	for i := 0; i < len(list) && i < mostDomain; i++ {
		at := list[i]
		if name, ok := w.in[at]; ok {
			return name, true
		}
		if at == 0 {
			continue
		}
		_, rail := w.d.Rail(at, design.Operating)
		for e := range w.d.On(at) {
			if rail && e.Kind() != 'V' && !tied(w.d, e) {
				continue // what draws from a rail does not say whose it is
			}
			for _, o := range conducts(e, at) {
				if !seen[o] {
					seen[o] = true
					list = append(list, o)
				}
			}
		}
	}
	return "", false
}

// conducts are the nets that an element joins to one of its own for a direct current.
func conducts(e design.Element, n circuit.Net) (out []circuit.Net) {
	pins := []int{0, 1}
	switch e.Kind() {
	case 'R', 'L', 'V', 'D', 'S', 'W':
	case 'M', 'J', 'Z', 'Q':
		pins = []int{0, 2}
	case 'X':
		if a, b := e.Ends(); e.Carries() {
			for _, o := range []circuit.Net{a, b} {
				if o != n {
					out = append(out, o)
				}
			}
		}
		return out
	default:
		return nil
	}
	if e.Pins() <= pins[1] || e.Pin(pins[0]) != n && e.Pin(pins[1]) != n {
		return nil
	}
	for _, k := range pins {
		if e.Pin(k) != n {
			out = append(out, e.Pin(k))
		}
	}
	return out
}

// tie is what joins two domains by intention, over others where that is the way: declared ties, and elements that intent calls
// net ties.
func (w *domains) tie(a, b string) (by string, ok bool) {
	joined, list := map[string]bool{a: true}, w.ties()
	var used []string
	for grown := true; grown && !joined[b]; {
		grown = false
		for _, t := range list {
			if !slices.ContainsFunc(t.joins, func(n string) bool { return joined[n] }) {
				continue
			}
			for _, n := range t.joins {
				if !joined[n] {
					joined[n], grown = true, true
					if !slices.Contains(used, t.name) {
						used = append(used, t.name)
					}
				}
			}
		}
	}
	return strings.Join(used, " and "), joined[b]
}

// A domainTie joins domains.
type domainTie struct {
	name  string
	joins []string
}

func (w *domains) ties() (out []domainTie) {
	add := func(name string, nets []circuit.Net) {
		t := domainTie{name: name}
		for _, n := range nets {
			if in, ok := w.of(n); ok {
				t.joins = append(t.joins, in)
			}
		}
		out = append(out, t)
	}
	for _, name := range w.d.Intent.Names("ties") {
		e := w.d.Intent.Get("ties", name, "joins")
		if e == nil {
			continue
		}
		var nets []circuit.Net
		for _, n := range e.Names {
			if net, ok := w.d.Net(n); ok {
				nets = append(nets, net)
			}
		}
		add("the tie "+name, nets)
	}
	for _, name := range w.d.Intent.Names("elements") {
		if e, ok := w.d.Find(name); ok && e.Pins() == 2 && netTie(w.d, e) {
			add(e.Path(), []circuit.Net{e.Pin(0), e.Pin(1)})
		}
	}
	return out
}

func (w *domains) need(n circuit.Net) quantity.Need {
	return quantity.Need{In: "intent", Key: "domains.NAME.nets with " + w.d.Circuit.NetName(n)}
}
