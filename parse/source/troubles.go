package source

import (
	"fmt"
	"strings"
)

// MaxTroubles bounds what one pass over a netlist reports.
const MaxTroubles = 5000

// maxMessage bounds a message in bytes: what it quotes may be as long as the netlist.
const maxMessage = 1000

// Report adds a trouble to those of one pass over a netlist. Behind MaxTroubles stands one of the rule limit, which says
// that the rest is not listed, and nothing more.
func Report(diags []Diagnostic, d Diagnostic, limit string) []Diagnostic {
	switch {
	case len(diags) > MaxTroubles:
		return diags
	case len(diags) == MaxTroubles:
		d = Diagnostic{At: d.At, Rule: limit, Message: fmt.Sprintf("more than %d troubles: the rest is not listed", MaxTroubles)}
	}
	d.Message = Clip(d.Message, maxMessage)
	return append(diags, d)
}

// Clip shortens a text that a netlist makes long to at most so many bytes and a mark.
func Clip(s string, most int) string {
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + " ..."
}
