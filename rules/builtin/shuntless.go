package builtin

import "github.com/shuntwright/shuntwright/rules"

// shuntless is what rules about the way of the current begin with: it skips where intent says that the shunt is not in the
// netlist or that nobody reads the channel, and records what is missing where none was found.
func shuntless(p *rules.Bench) bool {
	switch where := channelSaid(p, "shunt"); {
	case where == "on-chip" || where == "remote":
		p.Skip("the shunt is not in the netlist")
		return true
	case unusedChannel(p):
		p.Skip("the channel is unused")
		return true
	case len(p.Block.Shunt) == 0:
		p.ShuntOhms()
		return true
	}
	return false
}
