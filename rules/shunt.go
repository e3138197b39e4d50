package rules

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// oneShunt begins the need that stands for a shunt which was not found.
const oneShunt = "one shunt between in+ and in-: "

// WantsShunt tells that a need is that of a shunt which was not found: what shunt-pair reports, and what is open only for
// that.
func WantsShunt(n quantity.Need) bool { return n.In == "netlist" && strings.HasPrefix(n.Key, oneShunt) }
