// Package policy is what a team has decided: which findings it lives with, what findings weigh and what fails a run. It
// is a function from results to results.
package policy

import (
	"fmt"
	"slices"
	"strings"

	"github.com/bmatcuk/doublestar/v4"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// acceptanceRule is the id under which troubles with acceptances are reported.
const acceptanceRule = "acceptance"

// An Acceptance is one as it was read.
type Acceptance struct {
	rules.Acceptance

	doc     *field.Doc
	at      pattern
	of      []string // what it was accepted for; nil for anything
	found   string   // the word it was accepted as; "" for any
	netlist string   // glob; "" for every netlist
	review  bool     // it stands in a file under review
	wrong   bool     // something in it was reported
}

// mostBraces bounds the alternatives in a glob: each pair of braces doubles the work, and a stranger may write it.
const mostBraces = 8

// noNetlist is a glob that fits no path.
const noNetlist = "/"

// ValidGlob says what is wrong with a glob.
func ValidGlob(text string) error {
	switch {
	case !doublestar.ValidatePattern(text):
		return fmt.Errorf("%q is no glob: a bracket or a brace is not closed", text)
	case strings.Count(text, "{") > mostBraces:
		return fmt.Errorf("a glob has at most %d pairs of braces", mostBraces)
	}
	return nil
}

// ReadCards reads the acceptances in the comment cards of a netlist. They stand in a file under review.
func ReadCards(set *source.Set, pragmas []source.Span) (list []Acceptance, diags []source.Diagnostic) {
	for _, at := range pragmas {
		if field.Leads([]byte(set.Text(at))) != "accept" {
			continue
		}
		doc, found := field.ReadTable(set, at, acceptanceRule, cards)
		diags = append(diags, found...)
		for _, t := range doc.Tables("accept") {
			a := read(t)
			a.InSource, a.review, a.wrong = true, true, len(found) > 0
			list = append(list, a)
		}
	}
	return list, diags
}

// ReadFile reads a file of acceptances; review tells that it is a file under review.
func ReadFile(set *source.Set, id source.FileID, review bool) (list []Acceptance, diags []source.Diagnostic) {
	at := source.Span{Pos: source.Pos{File: id}, Len: uint32(len(set.File(id).Text))}
	doc, diags := field.ReadTable(set, at, acceptanceRule, files)
	tables := doc.Tables("accept")
	for i, t := range tables {
		a := read(t)
		a.review = review
		end := at.Len
		if i+1 < len(tables) {
			end = tables[i+1].At.Byte
		}
		a.wrong = slices.ContainsFunc(diags, func(d source.Diagnostic) bool { return d.At.Byte >= a.At.Byte && d.At.Byte < end })
		if e := t.Get("netlist"); e != nil {
			if err := ValidGlob(e.Text); err != nil {
				a.netlist = noNetlist
				diags = append(diags, source.Diagnostic{At: e.ValueAt, Rule: acceptanceRule, Message: "netlist: " + err.Error()})
			}
		}
		list = append(list, a)
	}
	return list, diags
}

func read(t *field.Doc) Acceptance {
	a := Acceptance{doc: t}
	a.Rule, a.At = t.Path[1], t.At
	text := func(key string) string {
		if e := t.Get(key); e != nil {
			return e.Text
		}
		return ""
	}
	a.at = readPattern(text("at"))
	a.Variant = text("variant")
	a.Pattern, a.Because, a.Owner, a.found, a.netlist = a.at.text, text("because"), text("owner"), text("found"), strings.TrimPrefix(text("netlist"), "./")
	if e := t.Get("until"); e != nil {
		a.Until = e.Day
	}
	if e := t.Get("of"); e != nil {
		a.of = e.Names
	}
	if e := t.Get("margin"); e != nil {
		a.Margins = e.Names
	}
	return a
}

// For tells that the acceptance is for a netlist, whose path counts from the folder of the acceptance's file.
func (a *Acceptance) For(netlist string) bool {
	if a.netlist == "" {
		return true
	}
	fits, err := doublestar.Match(a.netlist, netlist)
	return fits && err == nil
}
