package rules

import "github.com/shuntwright/shuntwright/parse/quantity"

// ShuntNeed is what is missing where no shunt was found between the inputs: every rule that wants one names it, and
// shunt-pair, which reports it, tells of it.
func (p *Bench) ShuntNeed() quantity.Need {
	return quantity.Need{In: "netlist", Key: "one shunt between in+ and in-: " + p.Broken, At: p.Amp.Card()}
}
