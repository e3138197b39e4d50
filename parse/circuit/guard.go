package circuit

import (
	"math"

	"github.com/shuntwright/shuntwright/parse"
)

// A truth is whether the cards of a branch are there.
type truth byte

const (
	no truth = iota
	yes
	unsure // a condition could not be read or computed, which was reported
)

// A guardKey is a branch as one instance sees it.
type guardKey struct {
	guard parse.GuardID
	in    *env
}

// holds tells whether the cards of a branch are there in an instance.
func (v *evaluator) holds(e *env, g parse.GuardID) truth {
	if g == 0 {
		return yes
	}
	guard := &v.n.Guards[g]
	for e.sub != guard.Scope {
		e = e.up
	}
	k := guardKey{g, e}
	if t, done := v.guards[k]; done {
		return t
	}
	v.guards[k] = unsure // a condition that leans on what stands under it
	t := v.branch(e, guard)
	v.guards[k] = t
	return t
}

func (v *evaluator) branch(e *env, guard *parse.Guard) truth {
	if t := v.holds(e, guard.Up); t != yes {
		return t
	}
	for _, other := range guard.Not {
		if t := v.truth(e, guard, other); t != no {
			return [...]truth{yes: no, unsure: unsure}[t]
		}
	}
	if guard.Broken {
		return unsure
	}
	if guard.If == nil {
		return yes
	}
	return v.truth(e, guard, guard.If)
}

func (v *evaluator) truth(e *env, guard *parse.Guard, cond *parse.Expr) truth {
	switch value := v.steadyValue(e, guard.At.File, cond); {
	case math.IsNaN(value):
		return unsure
	case value == 0:
		return no
	}
	return yes
}
