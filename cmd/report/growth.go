package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// growth lists what breaks first in each block as one declared quantity grows beyond its range.
func (n *Netlist) growth(out io.Writer, p paint) {
	if len(n.Report.Growth) == 0 {
		return
	}
	var table [][]string
	width := make([]int, 3)
	for _, g := range n.Report.Growth {
		s := quantity.ScaleFor(g.Unit, g.At)
		row := []string{Plain(g.Block), moves(g), s.Text(g.At, towards(!g.Up)), ""}
		switch {
		case g.Rule == "" && n.broken(g.Block):
			row[3] = "nothing that holds today breaks up to there"
		case g.Rule == "":
			row[3] = "nothing breaks up to there"
		default:
			row[3] = "then " + p.word(g.Level.String()) + " " + Plain(g.Rule) + ": " + Plain(g.Text)
		}
		for i, cell := range row[:3] {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
		table = append(table, row)
	}
	fmt.Fprintf(out, "%s: what breaks first as one thing grows and all else stays\n", plainPath(n.Path))
	for _, row := range table {
		fmt.Fprintln(out, strings.TrimRight("    "+row[0]+pad(row[0], width[0])+"  "+row[1]+pad(row[1], width[1])+
			"  "+pad(row[2], width[2])+row[2]+"  "+row[3], " "))
	}
}

// broken tells that something fails in a block already, which is no news as a quantity grows.
func (n *Netlist) broken(block string) bool {
	return slices.ContainsFunc(n.Report.Results, func(r rules.Result) bool { return r.Block == block && r.Kind == rules.KindFail })
}

// moves is "current up to" or "supply down to".
func moves(g rules.Growth) string {
	if g.Up {
		return g.What + " up to"
	}
	return g.What + " down to"
}

type jsonGrowth struct {
	Block   string  `json:"block"`
	What    string  `json:"what"`
	Up      bool    `json:"up"`
	Key     string  `json:"key"`
	From    number  `json:"from"`
	At      number  `json:"at"` // everything holds up to here, or, with rule null, as far as was looked
	Unit    string  `json:"unit"`
	Rule    *string `json:"rule"`
	Level   string  `json:"level,omitempty"`
	Message string  `json:"message,omitempty"`
}

func (n *Netlist) jsonGrowth() (out []jsonGrowth) {
	for _, g := range n.Report.Growth {
		j := jsonGrowth{Block: g.Block, What: g.What, Up: g.Up, Key: g.Key, From: number(g.From), At: number(g.At), Unit: unit(g.Unit), Rule: named(g.Rule), Message: g.Text}
		if g.Rule != "" {
			j.Level = g.Level.String()
		}
		out = append(out, j)
	}
	return out
}
