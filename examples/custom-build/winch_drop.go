package main

import (
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// WinchDrop holds what a shunt takes from a winch to 50 mV.
var WinchDrop = &rules.Rule{
	ID:    "winch-drop",
	Title: "shunt takes too much from the winch",
	Level: rules.Warning,
	Page:  "# winch-drop\n\n**What breaks.** Every millivolt at the shunt is missing at the drum.\n",
	Judge: func(p *rules.Bench) {
		drop := quantity.Calc("drop", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] },
			p.ShuntCurrent(design.Operating).Peak(), p.ShuntOhms())
		p.AtMost(drop, quantity.Exactly("50 mV", quantity.Volt, 0.05), "50 mV").Lower(p.Shunt...)
	},
}
