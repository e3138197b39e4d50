package house_test

import (
	"fmt"
	"strings"
)

// fleet is so many winches of one deck.
func fleet(n int) string {
	var b strings.Builder
	b.WriteString("* shuntwright: rails.BUS = \"30 V .. 40 V\"\n* shuntwright: rails.V5 = \"5 V +- 2 %\"\n* shuntwright: tolerances.resistors = \"1 %\"\n")
	for i := range n {
		fmt.Fprintf(&b, "* shuntwright: currents.RSH%d = { range = \"-20 A .. 20 A\", from = \"BUS\" }\n", i)
		fmt.Fprintf(&b, "RSH%[1]d BUS LOAD%[1]d 1m\nRL%[1]d LOAD%[1]d 0 4\nRFP%[1]d BUS INP%[1]d 10\nRFM%[1]d LOAD%[1]d INM%[1]d 10\nXA%[1]d INP%[1]d INM%[1]d out%[1]d 0 V5 V5 barge-30\n", i)
	}
	return b.String()
}

// twenty are rules as teams write them: a value, a name, a walk over the inputs, what the record says.
func twenty() (texts []string) {
	for i, body := range []string{
		`say.at_most(block.shunt_resistance, "2 mohm", at = block.shunt[0])`,
		"for leg in (block.plus, block.minus):\n    if leg.pin.name.endswith(\"_P\"):\n        say.holds()\n    else:\n        say.breach(\"the net %s has a bad name\" % leg.pin.name)",
		"for e in block.plus.series + block.minus.series:\n    if e.value == ohm(10):\n        say.holds()\n    else:\n        say.breach(\"no filter of ours\", at = e)",
		"if like(\"barge-*\", block.part.name):\n    say.holds()\nelse:\n    say.breach(\"another part\")",
		`say.at_most(block.current() * block.shunt_resistance, "25 mV")`,
	} {
		for n := range 4 {
			texts = append(texts, rule(fmt.Sprintf("probe-%d-%d", i, n), body))
		}
	}
	return texts
}
