package parse

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A choice is an .if card that waits for its .endif.
type choice struct {
	at     source.Span
	depth  int     // how many subcircuits were open
	outer  GuardID // the branch around it
	branch GuardID // the one being read
	tried  []*Expr // the conditions so far
	broken bool    // one of them could not be read
	last   bool    // .else was seen
}

// guard is the branch that the present card stands in.
func (r *reader) guard() GuardID {
	if len(r.ifs) == 0 {
		return 0
	}
	return r.ifs[len(r.ifs)-1].branch
}

// branch starts a branch of a choice. A condition of nil is .else, or one that could not be read.
func (r *reader) branch(c *choice, at source.Span, cond *Expr, broken bool) {
	c.broken = c.broken || broken
	c.branch = GuardID(len(r.n.Guards))
	if len(c.tried) >= mostBranches {
		r.n.Guards = append(r.n.Guards, Guard{At: at, Scope: r.scope(), Up: c.outer, Broken: true})
		return
	}
	r.n.Guards = append(r.n.Guards, Guard{At: at, Scope: r.scope(), Up: c.outer, Not: c.tried[:len(c.tried):len(c.tried)], If: cond,
		Broken: c.broken})
	if cond != nil {
		c.tried = append(c.tried, cond)
	}
}

func (r *reader) choose(at source.Span, cond *Expr, broken bool) {
	c := choice{at: at, depth: len(r.open), outer: r.guard()}
	r.branch(&c, at, cond, broken)
	r.ifs = append(r.ifs, c)
}

// chooseElse starts the next branch: .elseif, or .else where there is no condition.
func (r *reader) chooseElse(at source.Span, cond *Expr, broken bool) {
	c := r.choice(at)
	if c == nil {
		return
	}
	if c.last {
		r.report(source.Diagnostic{At: at, Rule: ruleCard, Message: "a branch follows .else, which is the last one",
			Related: []source.Related{{At: c.at, Message: "the .if card"}}})
		broken = true
	}
	if len(c.tried) >= mostBranches {
		if !c.broken {
			r.report(source.Diagnostic{At: at, Rule: ruleLimit, Message: fmt.Sprintf("a choice has more than %d branches", mostBranches)})
		}
		broken = true
	}
	c.last = cond == nil && !broken
	r.branch(c, at, cond, broken)
}

// mostBranches bounds a choice, each branch of which asks for all before it.
const mostBranches = 1000

func (r *reader) endif(at source.Span) {
	if c := r.choice(at); c != nil {
		r.ifs = r.ifs[:len(r.ifs)-1]
	}
}

// choice is the innermost open .if; nil, with a report, where there is none in this subcircuit.
func (r *reader) choice(at source.Span) *choice {
	if k := len(r.ifs) - 1; k >= 0 && r.ifs[k].depth == len(r.open) {
		return &r.ifs[k]
	}
	r.report(source.Diagnostic{At: at, Rule: ruleCard, Message: fmt.Sprintf("%s belongs to no .if", r.n.Src.Text(at))})
	return nil
}

// closeIfs reports the choices from the k-th on that nothing closes.
func (r *reader) closeIfs(k int) {
	for ; len(r.ifs) > k; r.ifs = r.ifs[:len(r.ifs)-1] {
		r.report(source.Diagnostic{At: r.ifs[len(r.ifs)-1].at, Rule: ruleCard, Message: ".if has no .endif"})
	}
}

// mark notes the branch that a card stands in.
func (r *reader) mark(id CardID) {
	if g := r.guard(); g != 0 {
		r.n.guarded[id] = g
	}
}
