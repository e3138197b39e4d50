package builtin

import (
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

const (
	// mostDrop is what a diode may drop where nobody says it, in volts.
	mostDrop = 1.5
	// crowdedNet is how many elements a net may have to be looked through for diodes without a record.
	crowdedNet = 4096
)

// turnedAround holds one-way clamps, and diodes without a record, whose anode stands on a net of the block below what they
// drop: those up to ground stand the wrong way round where the net works above it, a clamp from an input or the supply up to
// a rail conducts nothing while the rail is above. It tells whether any was found.
func turnedAround(p *rules.Bench) (found bool) {
	records := clampRecords(p)
	upright := map[circuit.ID]bool{}
	for _, c := range blockClamps(p) {
		upright[c.ID] = true
	}
	seen := map[circuit.ID]bool{}
	for _, at := range blockPlaces(p) {
		crowded := len(p.Design.Circuit.On(at.net)) > crowdedNet
		if at.net == 0 || at.net == p.Ground || at.pin == "out" || crowded && !records {
			continue
		}
		for e := range p.Design.On(at.net) {
			r := e.Record()
			clamps := r != nil && r.Role() == "clamp"
			if seen[e.ID] || !clamps && (e.Kind() != 'D' || crowded) {
				continue
			}
			high, low, both, ok := clampEnds(e)
			if !ok || both || low != at.net || high == low {
				continue
			}
			toGround := high == 0 || high == p.Ground
			if !toGround && (!clamps || upright[e.ID] || !strings.HasPrefix(at.pin, "in") && at.pin != "supply") {
				continue
			}
			seen[e.ID] = true
			forward := p.Across(low, high, design.Operating).Named("forward voltage of " + e.Path())
			limit, text := quantity.Exactly("largest drop", quantity.Volt, mostDrop), "the largest drop of a diode"
			switch {
			case clamps && toGround:
				limit, text = p.PartOf(e, "drop"), "drop"
			case clamps:
				limit, text = clamp{Element: e}.drop(p), "its drop"
			case !(forward.Known() && !forward.Seen.Empty() && forward.Seen.Hi > mostDrop): // a diode is no clamp that is asked for anything
				continue
			}
			found = true
			net := p.Design.Circuit.NetName(low)
			says := func(m rules.Measure) string {
				return fmt.Sprintf("%s stands the wrong way round: it conducts in forward direction, %s works up to %s", e.Path(), net,
					quantity.ScaleFor(quantity.Volt, m.Max).Text(m.Max, quantity.Up))
			}
			advice := "exchange anode and cathode of " + e.Path()
			if !toGround {
				says = func(m rules.Measure) string {
					return fmt.Sprintf("%s conducts forwards while the circuit works: its anode stands up to %s above its cathode", e.Path(),
						quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax).Text(m.Max, quantity.Up))
				}
				advice = "take " + e.Path() + " to a rail above " + net
			}
			p.AtMost(forward, limit, text).At(rules.Error).On(e).Fails(says).Advise(advice)
		}
	}
	return found
}
