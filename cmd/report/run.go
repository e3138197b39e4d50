// Package report prints what judging found, one file per output format. It decides nothing: no result is dropped, added
// or weighed here.
package report

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// A Run is everything one call of the linter found.
type Run struct {
	Version  string
	Rules    []*rules.Rule // all rules that were judged, whether or not they found something
	Netlists []Netlist
	Unread   []Unread
	Ledger   bool // also tell what the results rest on and what would settle them
}

// A Netlist is one judged netlist.
type Netlist struct {
	Path   string // as printed
	Intent string // path of its intent file as printed; "" for none
	Report *rules.Report

	Variants []string // the assembly variants that were judged, "drawn" for the drawing; nil where there are none
}

// An Unread input could not be read at all, so that nothing was judged on it.
type Unread struct {
	Path         string
	Line, Column int // where reading ended; 0 where it did not begin
	Message      string
}

func (u Unread) String() string {
	if u.Line == 0 {
		return u.Path + ": " + u.Message
	}
	return fmt.Sprintf("%s:%d:%d: %s", u.Path, u.Line, u.Column, u.Message)
}

// place is where a span stands. What has no place of its own stands at the head of the netlist.
func (n *Netlist) place(at source.Span) source.Place {
	if at.None() {
		return source.Place{Path: n.Path, Line: 1, Column: 1, EndLine: 1, EndCol: 1}
	}
	return n.Report.Design.Src.Place(at)
}
