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
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

//go:embed doc/floating-pin.md
var floatingPinPage string

// FloatingPin asks that every pin which must be driven has a way to something that drives it, and that pins which read a
// logic level stand at one; of a channel left unused, that its inputs are tied and its output is open.
var FloatingPin = &rules.Rule{
	ID:    "floating-pin",
	Title: "pin that must be driven floats",
	Level: rules.Error,
	Page:  floatingPinPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		subject := false
		var driven []string
		for _, role := range mustBeDriven(p) {
			n, ok := p.Pin(role)
			if !ok {
				continue
			}
			subject = true
			switch d := driveOf(p, n); {
			case d.driven:
				if base := kindOfPin(role); base == "enable" || base == "gain-select" {
					atValidLevel(p, role, d)
				} else {
					driven = append(driven, role)
				}
			case len(d.unknown) > 0:
				var needs []quantity.Need
				for _, e := range d.unknown {
					needs = append(needs, needOf(e))
				}
				p.Lacks("", needs...)
			case d.feeds:
				p.Lacks("", quantity.Need{In: "intent", Key: design.Key("rails", p.Design.Circuit.NetName(d.supply))})
			default:
				openPin(p, role, n, d)
			}
		}
		if driven != nil {
			p.Holds("driven: " + strings.Join(driven, ", "))
		}
		if unusedChannel(p) {
			subject = true
			leftOver(p)
		}
		if !subject {
			p.Skip("the part has no pin that must be driven")
		}
	},
}

// mustBeDriven are the roles of pins that must be driven; of address and gain-select pins there may be several, "address-0".
func mustBeDriven(p *rules.Bench) (roles []string) {
	kinds := []string{"ref", "ref-a", "ref-b", "enable", "gain-select", "address"}
	for _, kind := range kinds {
		roles = append(roles, kind)
		for _, role := range p.Amp.Record().Pins() {
			if role != kind && kindOfPin(role) == kind && !slices.Contains(kinds, role) && !slices.Contains(roles, role) {
				roles = append(roles, role)
			}
		}
	}
	return roles
}

// kindOfPin is a role without the number of one of several.
func kindOfPin(role string) string {
	for _, kind := range []string{"gain-select", "address"} {
		if rest, ok := strings.CutPrefix(role, kind+"-"); ok && strings.Trim(rest, "0123456789") == "" {
			return kind
		}
	}
	return role
}

// A pinDrive is what drives a net at DC.
type pinDrive struct {
	driven  bool
	moves   bool             // between levels: a source that steps, or transistors
	lone    *design.Element  // a transistor or switch that alone drives it while it is closed
	unknown []design.Element // what may drive it, and nobody knows
	supply  circuit.Net      // the first net on the way that feeds a part, and that nothing holds: a rail nobody declared
	feeds   bool             // there is such a net
}

// mostDriven is how many nets are walked over for what drives a net.
const mostDriven = 1024

// driveOf finds what drives a net, over resistors, inductors, sources, diodes and switches.
func driveOf(p *rules.Bench, n circuit.Net) (d pinDrive) {
	seen := map[circuit.Net]bool{n: true}
	todo := []circuit.Net{n}
	var switches []design.Element
	for len(todo) > 0 && len(seen) < mostDriven {
		at := todo[0]
		todo = todo[1:]
		walk := func(to circuit.Net) {
			if !seen[to] {
				seen[to] = true
				todo = append(todo, to)
			}
		}
		if _, held := p.Design.Rail(at, design.Operating); held {
			d.driven = true
			for e := range p.Design.On(at) {
				if at == 0 || d.moves {
					break
				}
				if s := e.Source(); e.Kind() == 'V' && s != nil && s.Levels[0] != s.Levels[1] {
					d.moves = true
				}
			}
			continue
		}
		for e := range p.Design.On(at) {
			if a, b, ok := volt.Channel(e); ok {
				if a == at || b == at {
					switches = append(switches, e)
				}
				continue
			}
			switch e.Kind() {
			case 'R', 'L', 'D', 'V':
				if e.Pins() == 2 {
					walk(e.Other(at))
				}
			case 'C', 'K', 'M', 'Q', 'J', 'Z', 'S', 'W':
			case 'E', 'H', 'B', 'I', 'G', 'F':
				d.driven = d.driven || e.Pin(0) == at || e.Pin(1) == at
			case 'X':
				if !d.feeds && isSupplied(e, at) {
					d.supply, d.feeds = at, true
				}
				if feeds, known := feedsNet(e, at); !known {
					d.unknown = append(d.unknown, e)
				} else if feeds {
					d.driven, d.moves = true, true
				}
			default:
				d.unknown = append(d.unknown, e)
			}
		}
	}
	switch {
	case d.driven:
		d.moves = d.moves || len(switches) > 0
	case len(switches) == 1:
		d.lone = &switches[0]
	case len(switches) > 1:
		d.driven, d.moves = true, true
	}
	return d
}

// isSupplied tells that a part takes its supply from a net.
func isSupplied(e design.Element, n circuit.Net) bool {
	r := e.Record()
	if r == nil {
		return false
	}
	for i, role := range r.Pins() {
		if role == "supply" && i < e.Pins() && e.Pin(i) == n {
			return true
		}
	}
	return false
}

// feedsNet tells whether a part drives a net; known is false where its record does not tell.
func feedsNet(e design.Element, n circuit.Net) (feeds, known bool) {
	r := e.Record()
	if r == nil {
		return false, false
	}
	switch r.Role() {
	case "sense-amplifier", "digital-monitor", "op-amp", "comparator":
		for _, u := range slices.Concat(e.Amplifiers(), e.OpAmps(), e.Comparators()) {
			if out, ok := e.PinOf("out", u); ok && out == n {
				return true, true
			}
		}
		return false, true
	case "capacitor", "clamp", "shunt", "switch":
		return false, true
	}
	for i, role := range r.Pins() {
		if i < e.Pins() && e.Pin(i) == n && role != "nc" && role != "supply" && role != "ground" {
			return false, false
		}
	}
	return false, true
}

// openPin judges a pin that nothing outside drives.
func openPin(p *rules.Bench, role string, n circuit.Net, d pinDrive) {
	net := p.Design.Circuit.NetName(n)
	kind := kindOfPin(role)
	pulls := kind == "enable" || kind == "gain-select" || kind == "address"
	pull, said := p.Amp.Word(kind + ".pull")
	switch {
	case pulls && !said:
		p.Lacks("", p.Amp.PartNeed(kind+".pull"))
		return
	case pulls && pull != "none":
		level := map[string]string{"up": "high", "down": "low"}[pull]
		if !turnedOff(p, role, level, "its own pull-"+pull) {
			p.Holds(fmt.Sprintf("the part pulls its open %s pin %s", role, pull))
		}
		return
	}
	text := fmt.Sprintf("%s floats: nothing on its net %s drives it at DC", role, net)
	switch {
	case aloneOn(p, n):
		text = fmt.Sprintf("%s floats: nothing else is on its net %s", role, net)
	case d.lone != nil:
		text = fmt.Sprintf("%s floats while %s is open: nothing else drives its net %s", role, d.lone.Path(), net)
	}
	c := p.Breach(text).Tells(quantity.Need{In: "intent", Key: design.Key("rails", net)})
	if d.lone != nil {
		c.Evidence(source.Related{At: d.lone.Card(), Message: d.lone.Path()})
	}
	pin, ok := p.Amp.PinAt(role, p.Unit)
	for _, r := range p.References { // two reference pins may stand together
		if ok && role != r.Role && strings.HasPrefix(role, "ref") && driveOf(p, r.Net).driven {
			c.Try(fmt.Sprintf("%s of %s moved to %s, where %s is", role, p.Name(), p.Design.Circuit.NetName(r.Net), r.Role), movedTo(p.Design, p.Amp, pin, r.Net))
		}
	}
	if active, said := p.Amp.Word("enable.active"); ok && role == "enable" && said {
		to, known := p.Pin(map[string]string{"high": "supply", "low": "ground"}[active])
		if known {
			c.Try(fmt.Sprintf("enable of %s moved to %s", p.Name(), p.Design.Circuit.NetName(to)), movedTo(p.Design, p.Amp, pin, to))
		}
	}
	c.Advise(fmt.Sprintf("drive it; where that is done off this netlist, %s in the intent says to what", design.Key("rails", net)))
}

// turnedOff reports an enable pin that turns the part off while the equipment works.
func turnedOff(p *rules.Bench, role, level, by string) bool {
	active, said := p.Amp.Word("enable.active")
	if role != "enable" || !said || level == "" || level == active {
		return false
	}
	p.Breach(fmt.Sprintf("the part is off: %s keeps enable %s, and %s turns it on", by, level, active)).Advise("drive enable " + active)
	return true
}

// tiedVolts is how far in volt a pin may be from ground or supply to count as tied to it: less than any logic level asks for.
const tiedVolts = 10e-3

// atValidLevel holds a driven pin at a valid logic level, in the working state and in every declared one with supply.
func atValidLevel(p *rules.Bench, role string, d pinDrive) {
	kind := kindOfPin(role)
	everyState(p, false, func(v *rules.Bench, state string) {
		q := v.Voltage(role, design.Operating).Named(role + state)
		supply := v.Voltage("supply", design.Operating)
		lowest, _, _ := v.Limits("supply.operating", design.Operating)
		if state != "" && supply.Known() && lowest.Known() && supply.Sound.Hi < lowest.Sound.Lo {
			return // without supply no level counts
		}
		level := ""
		below := quantity.Minus("supply less "+role, supply, q)
		switch {
		case q.Known() && q.Sound.Hi <= tiedVolts && q.Sound.Lo >= -tiedVolts:
			level = "low"
		case below.Known() && below.Sound.Hi <= tiedVolts && below.Sound.Lo >= -tiedVolts:
			level = "high"
		}
		if level != "" {
			if state != "" || !turnedOff(p, role, level, "its net "+p.Design.Circuit.NetName(netOfPin(p, role))) {
				p.Holds(q.Name + " is tied " + level)
			}
			return
		}
		low, high := v.Level(kind+".low", design.Operating, true).Named(kind+".low"), v.Level(kind+".high", design.Operating, false).Named(kind+".high")
		if low.Known() && high.Known() && !q.Seen.Empty() && q.Seen.Lo <= low.Seen.Hi && q.Seen.Hi >= high.Seen.Lo && q.Seen.Lo < q.Seen.Hi {
			if d.moves {
				p.Holds(q.Name + " moves between valid levels")
				return
			}
			sc := quantity.ScaleFor(quantity.Volt, q.Seen.Lo, q.Seen.Hi)
			p.HoldsIf(fmt.Sprintf("%s is declared from %s to %s; it holds only if it is at one end when it counts", q.Name,
				sc.Text(q.Seen.Lo, quantity.Down), sc.Text(q.Seen.Hi, quantity.Up)))
			return
		}
		middle := (low.Nom + high.Nom) / 2
		if !low.Known() || !high.Known() {
			middle = supply.Nom / 2
		}
		fails := func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Min, m.Max, m.LimitMin, m.LimitMax)
			if m.AtHigh {
				return fmt.Sprintf("%s is at no valid level: it reaches %s, low is up to %s", q.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Near))
			}
			return fmt.Sprintf("%s is at no valid level: it comes down to %s, high is from %s", q.Name, sc.Text(m.Min, quantity.Down), sc.Text(m.LimitMin, quantity.Near))
		}
		if q.Nom < middle {
			p.AtMost(q, low, kind+".low").Fails(fails)
			level = "low"
		} else {
			p.AtLeast(q, high, kind+".high").Fails(fails)
			level = "high"
		}
		if state == "" && q.Known() {
			turnedOff(p, role, level, "its net "+p.Design.Circuit.NetName(netOfPin(p, role)))
		}
	})
}

func netOfPin(p *rules.Bench, role string) circuit.Net {
	n, _ := p.Pin(role)
	return n
}

// leftOver judges a channel of a package that is not used: its inputs tied together and driven, its output open.
func leftOver(p *rules.Bench) {
	name := p.Design.Circuit.NetName
	plus, okP := p.Pin("in+")
	minus, okM := p.Pin("in-")
	if okP && okM {
		d := driveOf(p, plus)
		switch {
		case !sense.Together(p.Design, plus, minus):
			p.Breach(fmt.Sprintf("the inputs of the unused channel are not tied together: in+ is on %s, in- on %s", name(plus), name(minus))).
				At(rules.Warning).Advise("tie in+ and in- together, to a net in the common-mode range")
		case !d.driven && len(d.unknown) == 0:
			p.Breach(fmt.Sprintf("the inputs of the unused channel float on %s", name(plus))).At(rules.Warning).
				Advise("tie in+ and in- to a net in the common-mode range")
		default:
			p.Holds("the inputs of the unused channel are tied together")
		}
	}
	if out, ok := p.Pin("out"); ok && !aloneOn(p, out) {
		p.Breach(fmt.Sprintf("the output of the unused channel is on %s, with other things", name(out))).At(rules.Warning).Advise("leave the output open")
	}
}
