package report

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// A group is one finding as people read it: the results of one card of a subcircuit that came out alike, wherever the
// subcircuit is used.
type group struct {
	worst     rules.Result
	instances []string        // in the order of the results
	needs     []quantity.Need // what any of them misses, each once
	calls     []source.Span   // the X cards that lead there, each once
	called    map[source.Span]bool
}

// findings groups what a person has to see, in the order of the results.
func (n *Netlist) findings() []*group {
	type key struct {
		at    source.Span
		rule  string
		kind  rules.Kind
		level rules.Level
		name  string
		in    string // the variant
	}
	var groups []*group
	known := map[key]*group{}
	for _, r := range n.Report.Results {
		if !r.Finding() {
			continue
		}
		k := key{r.At, r.Rule, r.Kind, r.Level, r.Block[strings.LastIndexByte(r.Block, '.')+1:], r.Variant}
		shared := r.Block != "" && len(r.Calls) > 0
		g := known[k]
		switch {
		case g == nil || !shared:
			g = &group{worst: r, called: map[source.Span]bool{}}
			groups = append(groups, g)
			if shared {
				known[k] = g
			}
		case tighter(r, g.worst) < 0:
			g.worst = r
		}
		if shared {
			g.instances = append(g.instances, r.Block)
		}
		g.needs = distinct(append(g.needs, r.Needs...))
		for _, c := range r.Calls {
			if !g.called[c] {
				g.called[c] = true
				g.calls = append(g.calls, c)
			}
		}
	}
	return groups
}

// distinct drops needs that were named before.
func distinct(needs []quantity.Need) (out []quantity.Need) {
	known := map[[2]string]bool{}
	for _, n := range needs {
		if k := [2]string{n.In, n.Key}; !known[k] {
			known[k] = true
			out = append(out, n)
		}
	}
	return out
}
