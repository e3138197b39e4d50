package parse

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A definedName is a name in lower case and the scope it was given in.
type definedName struct {
	scope SubID
	name  string
}

// twins reports what is defined twice in one scope. The same text twice is no trouble: libraries get included twice.
func (r *reader) twins() {
	r.twinCards()
	r.twinModels()
	r.twinSubcircuits()
	r.twinParameters()
}

// twinCards finds names that two cards of one scope bear. It goes by hash in buckets that fit a core's cache: over a
// million names that is most of the time that such a check costs.
func (r *reader) twinCards() {
	n := r.n
	hashes := make([]uint32, len(n.Cards))
	var starts [twinBuckets + 1]uint32
	bucket := func(hash uint32) uint32 { return hash * 0x9e3779b1 >> (32 - twinBits) }
	for id := range n.Cards {
		hashes[id] = n.CardHash(CardID(id)) ^ uint32(n.Cards[id].Scope)*0x85ebca6b
		starts[bucket(hashes[id])+1]++
	}
	for i := range twinBuckets {
		starts[i+1] += starts[i]
	}
	ids, fill := make([]CardID, len(n.Cards)), starts
	for id, h := range hashes {
		k := bucket(h)
		ids[fill[k]] = CardID(id)
		fill[k]++
	}
	var twins [twinBuckets][][2]CardID
	side(twinBuckets, func(k int) { twins[k] = r.twinsAmong(ids[starts[k]:starts[k+1]], hashes) })
	all := slices.Concat(twins[:]...)
	slices.SortFunc(all, func(a, b [2]CardID) int { return cmp.Compare(a[1], b[1]) })
	for _, t := range all {
		r.report(source.Diagnostic{At: n.Cards[t[1]].At, Rule: ruleCard,
			Message: fmt.Sprintf("the name %s is used twice; both elements stay in the circuit", n.CardName(t[1])),
			Related: []source.Related{{At: n.Cards[t[0]].At, Message: "first used here"}}})
	}
}

const (
	twinBits    = 7
	twinBuckets = 1 << twinBits
)

// twinsAmong finds cards that share name and scope with an earlier one.
func (r *reader) twinsAmong(ids []CardID, hashes []uint32) (twins [][2]CardID) {
	n := r.n
	size := 16
	for size < 2*len(ids) {
		size *= 2
	}
	table, mask := make([]CardID, size), uint32(size-1) // a card's number plus 1
	for _, id := range ids {
		c := &n.Cards[id]
		if c.Kind == '?' {
			continue
		}
		name := n.nameBytes(id)
		for i := hashes[id] & mask; ; i = (i + 1) & mask {
			if table[i] == 0 {
				table[i] = id + 1
				break
			}
			first := table[i] - 1
			if hashes[first] == hashes[id] && n.Cards[first].Scope == c.Scope && sameFolded(n.CardName(first), name) {
				if n.CardGuard(first) == n.CardGuard(id) { // else they are branches of one choice
					twins = append(twins, [2]CardID{first, id})
				}
				break
			}
		}
	}
	return twins
}

// side does n things on all cores.
func side(n int, do func(int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wait.Wait()
}

func (r *reader) twinModels() {
	n := r.n
	models := map[definedName]int{}
	for i := range n.Models {
		m := &n.Models[i]
		k := definedName{m.Scope, strings.ToLower(n.Names[m.Name])}
		first, twice := models[k]
		if !twice {
			models[k] = i
			continue
		}
		was := n.Models[first].At
		if !r.sameText(was, m.At) && n.Models[first].Guard == m.Guard {
			r.report(source.Diagnostic{At: m.At, Rule: ruleCard,
				Message: fmt.Sprintf("model %s is defined twice; the first one holds", n.Names[m.Name]),
				Related: []source.Related{{At: was, Message: "first defined here"}}})
		}
	}
}

func (r *reader) twinSubcircuits() {
	n := r.n
	subs := map[definedName]*Sub{}
	for i := range n.Subs[1:] {
		s := &n.Subs[i+1]
		k := definedName{s.Up, strings.ToLower(n.Names[s.Name])}
		first := subs[k]
		if first == nil || s.Name == 0 {
			subs[k] = s
			continue
		}
		if !r.sameBody(first, s) && first.Guard == s.Guard {
			r.report(source.Diagnostic{At: s.At, Rule: ruleSubcircuit,
				Message: fmt.Sprintf("subcircuit %s is defined twice; the first one holds", n.Names[s.Name]),
				Related: []source.Related{{At: first.At, Message: "first defined here"}}})
		}
	}
}

func (r *reader) twinParameters() {
	n := r.n
	for i := range n.Subs {
		list := n.Subs[i].Locals
		seen := map[string]int{}
		for j := range list {
			name := strings.ToLower(list[j].Name)
			if k, twice := seen[name]; twice && list[k].Guard == list[j].Guard && !r.sameText(list[k].At, list[j].At) {
				r.report(source.Diagnostic{At: list[j].At, Rule: ruleCard,
					Message: fmt.Sprintf("parameter %s is defined twice; the last one holds", list[j].Name),
					Related: []source.Related{{At: list[k].At, Message: "first defined here"}}})
			}
			seen[name] = j
		}
	}
}

// sameText compares what two spans cover.
func (r *reader) sameText(a, b source.Span) bool {
	return a.Len == b.Len && r.n.Src.Text(a) == r.n.Src.Text(b)
}

// sameBody tells that two subcircuits were written with the same cards.
func (r *reader) sameBody(a, b *Sub) bool {
	n := r.n
	if !r.sameText(a.At, b.At) || a.End-a.First != b.End-b.First {
		return false
	}
	if len(a.Locals) != len(b.Locals) {
		return false
	}
	for i := range a.Locals {
		if !r.sameText(a.Locals[i].At, b.Locals[i].At) {
			return false
		}
	}
	for i := range a.End - a.First {
		if !r.sameText(n.Cards[a.First+i].At, n.Cards[b.First+i].At) {
			return false
		}
	}
	return true
}
