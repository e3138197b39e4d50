package rules

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// A Report is everything the rules say about one netlist.
type Report struct {
	Design   *design.Design
	Blocks   []BlockInfo
	Results  []Result // in netlist order, a block's rules in their own order
	Cautions []string // hazards a person working on the circuit must know of; no findings
	Growth   []Growth // what breaks first as one thing grows, by block; only where it was asked for
	Stopped  error    // why the netlist's context ended the work: then nothing was judged and the rest is empty
}

// A BlockInfo is a recognised sense block in words.
type BlockInfo struct {
	Name, Kind, Part string
	Variant          string // the assembly variant that has it so; "" for the drawing
	At               source.Span
	Shunt            []string
	Pins             map[string]string // role to net name
}

// amplifier names one block across designs.
type amplifier struct {
	id   circuit.ID
	unit string
	path string // of the X card
}

type judge struct {
	list     []*Rule
	bare     bool // without remedies
	progress func(done, of int)
	grows    bool // look for what breaks first
	together *together
}

// An Option changes how Judge works.
type Option func(*judge)

// NoRemedies leaves out the search for what would cure a failure, which costs more than all else.
func NoRemedies(j *judge) { j.bare = true }

// Progress is told how many blocks of how many are judged, before the first and after each; from any goroutine, one
// call at a time.
func Progress(tell func(done, of int)) Option { return func(j *judge) { j.progress = tell } }

// Judge runs rules on every sense block, blocks in parallel, results in a stable order. The context that the netlist
// was read with ends it early; then the report holds no result.
func Judge(d *design.Design, list []*Rule, o ...Option) *Report {
	j := &judge{list: blockwise(list), together: newTogether(d)}
	for _, set := range o {
		set(j)
	}
	stopped := d.Circuit.Cards.Stopped
	rep := &Report{Design: d}
	var at []amplifier
	for b := range sense.Blocks(d) {
		if stopped() != nil {
			break
		}
		at = append(at, amplifier{b.Amp.ID, b.Unit, b.Amp.Path()})
		rep.Blocks = append(rep.Blocks, info(d, b))
	}
	out := make([][]Result, len(at))
	hazards := make([][]danger, len(at))
	growth := make([][]Growth, len(at))
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	one := j.counted(len(at))
	for i, a := range at {
		g.Go(func() error {
			if err := stopped(); err != nil {
				return err
			}
			out[i], hazards[i] = j.block(d, a, !j.bare)
			if j.grows {
				growth[i] = j.growth(d, a, out[i])
			}
			one()
			return nil
		})
	}
	_ = g.Wait() // what a worker returns is asked for again below
	if err := stopped(); err != nil {
		return &Report{Design: d, Stopped: err}
	}
	rep.Results = slices.Concat(unknownParts(d, len(at)), loads(d), whole(d, list, j.together), slices.Concat(out...))
	rep.Growth = slices.Concat(growth...)
	rep.Cautions = append(caution(slices.Concat(hazards...)), shorts(d)...)
	if err := stopped(); err != nil {
		return &Report{Design: d, Stopped: err}
	}
	return rep
}

// blockwise are the rules that look at one block.
func blockwise(list []*Rule) []*Rule {
	return slices.DeleteFunc(slices.Clone(list), func(r *Rule) bool { return r.Whole })
}

// whole judges the rules that look at the whole netlist. They have no remedies: no block could be judged again with one.
func whole(d *design.Design, list []*Rule, t *together) (out []Result) {
	everywhere := siteOf(d, nil, t)
	for _, r := range list {
		if r.Whole {
			p := everywhere.bench(r)
			p.whole = true
			r.Judge(p)
			out = append(out, p.result())
		}
	}
	return out
}

// counted tells of progress and returns what to call after each block.
func (j *judge) counted(of int) (one func()) {
	if j.progress == nil {
		return func() {}
	}
	var mu sync.Mutex
	done := 0
	j.progress(done, of)
	return func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		j.progress(done, of)
	}
}

// JudgeAt judges one block of a design, without remedies: what swap, faults, variants and an editor call. It
// returns nil where there is no such block or the netlist's context has ended the work.
func JudgeAt(d *design.Design, list []*Rule, block string) []Result {
	for b := range sense.Blocks(d) {
		if strings.EqualFold(b.Name(), block) {
			out := (&judge{list: blockwise(list), together: newTogether(d)}).rules(d, amplifier{b.Amp.ID, b.Unit, b.Amp.Path()})
			if d.Circuit.Cards.Stopped() != nil {
				return nil
			}
			return out
		}
	}
	return nil
}

func info(d *design.Design, b *sense.Block) BlockInfo {
	i := BlockInfo{Name: b.Name(), Kind: b.Kind, Part: b.Amp.Record().Name(), At: b.Amp.Card(), Shunt: b.ShuntNames(), Pins: map[string]string{}}
	for _, role := range b.Amp.Record().Pins() {
		if n, ok := b.Pin(role); ok {
			i.Pins[role] = d.Circuit.NetName(n)
		}
	}
	return i
}

// block judges all rules on one block and, where asked, finds remedies for what fails.
func (j *judge) block(d *design.Design, at amplifier, remedies bool) ([]Result, []danger) {
	s := newSite(d, at, j.together)
	if s == nil {
		return nil, nil
	}
	out := make([]Result, len(j.list))
	checks := make([][]*Check, len(j.list))
	for i, r := range j.list {
		out[i], checks[i] = s.run(r)
	}
	if remedies {
		j.remedies(d, at, out, checks)
	} else {
		follow(out, checks)
	}
	return out, dangers(d, s.volt, s.block)
}

// remedies finds what would cure the failures of a block, and what follows what. The search costs more than all else, so it
// leaves out what the remedy of a failure of no less weight has settled, unless that turns out to follow nothing.
func (j *judge) remedies(d *design.Design, at amplifier, out []Result, checks [][]*Check) {
	settled := map[string]Level{} // by rule: the weight of what settles it
	cure := func(i int) {
		if d.Circuit.Cards.Stopped() != nil {
			return
		}
		if out[i].Remedy = j.remedy(d, at, i, checks[i], out); out[i].Remedy != nil {
			for _, id := range out[i].Remedy.Settles {
				settled[id] = max(settled[id], out[i].Level)
			}
		}
	}
	left := map[int]bool{}
	for i := range out {
		switch {
		case out[i].Kind != KindFail:
		case settled[out[i].Rule] >= out[i].Level:
			left[i] = true
		default:
			cure(i)
		}
	}
	follow(out, checks)
	for i := range out {
		if left[i] && out[i].Follows == "" {
			cure(i)
		}
	}
}

func (j *judge) rules(d *design.Design, at amplifier) []Result {
	s := newSite(d, at, j.together)
	if s == nil {
		return nil
	}
	out := make([]Result, len(j.list))
	for i, r := range j.list {
		out[i], _ = s.run(r)
	}
	return out
}

func (j *judge) one(d *design.Design, at amplifier, i int) Result {
	s := newSite(d, at, j.together)
	if s == nil {
		return Result{Kind: KindOpen}
	}
	r, _ := s.run(j.list[i])
	return r
}

// run judges one rule on the block.
func (s *site) run(rule *Rule) (Result, []*Check) {
	b, p := s.block, s.bench(rule)
	rule.Judge(p)
	r := p.result()
	if rec := b.Amp.Record(); rec.Doubted() && (r.Kind == KindPass || r.Kind == KindReview) {
		r.Kind = KindOpen // what was refused may be what this rests on
		r.Needs = append(r.Needs, quantity.Need{In: "part record", Key: rec.Name() + " without errors", At: rec.At()})
		r.Message = undecided(r)
	}
	if rec := b.Amp.Record(); len(rec.Pins()) != b.Amp.Pins() && (r.Kind == KindPass || r.Kind == KindReview) {
		r.Kind = KindOpen // the nets may stand at other pins than they seem to
		r.Needs = append(r.Needs, quantity.Need{In: "netlist", Key: fmt.Sprintf("the %d nets of %s", len(rec.Pins()), rec.Name()), At: b.Amp.Card()})
		r.Message = undecided(r)
	}
	return r, p.checks
}

func (p *Bench) result() Result {
	r := Result{Rule: p.rule.ID}
	if p.whole { // at the title
		r.At = source.Span{Pos: source.Pos{File: p.Design.Circuit.Cards.File}}
	} else {
		r.Block, r.At, r.Calls = p.Name(), p.Amp.Card(), p.Amp.Calls()
	}
	switch {
	case p.skip != "":
		r.Kind, r.Message = KindNotApplicable, p.skip
		return r
	case len(p.checks) == 0:
		r.Kind, r.Needs = KindOpen, p.needs
		r.Message = undecided(r)
		return r
	}
	for _, c := range p.checks {
		c.settle()
	}
	worst := slices.Clone(p.checks)
	slices.SortStableFunc(worst, func(a, b *Check) int {
		if a.kind != b.kind {
			return int(b.kind) - int(a.kind)
		}
		if a.kind == KindFail && a.measure.Level != b.measure.Level {
			return int(b.measure.Level) - int(a.measure.Level)
		}
		if a.measure.Unit == b.measure.Unit && a.kind > KindPass {
			return cmp.Compare(a.measure.Margin, b.measure.Margin) // NaN, nothing known, comes first
		}
		return 0
	})
	for _, c := range worst {
		r.Kind = max(r.Kind, c.kind)
		if c.kind == KindFail {
			r.Level = max(r.Level, c.measure.Level)
		}
		r.Grade = max(r.Grade, c.grade)
		if !c.stated {
			r.Measures = append(r.Measures, c.measure)
		}
		for _, a := range c.assumed {
			if !slices.Contains(r.Assumed, a) {
				r.Assumed = append(r.Assumed, a)
			}
		}
		if c.kind == KindOpen {
			for _, n := range c.needs {
				if !slices.Contains(r.Needs, n) {
					r.Needs = append(r.Needs, n)
				}
			}
		}
	}
	for _, c := range worst {
		if c.stated && c.kind == r.Kind {
			r.Stated++
		}
	}
	top := worst[0]
	if top.on != nil && r.Kind > KindPass {
		r.At, r.Calls = top.on.Card(), top.on.Calls()
	}
	r.Related = top.related
	if r.Kind == KindFail {
		r.Advice = top.advice
	}
	if top.stated && top.said != "" {
		r.Message = top.said
		return r
	}
	switch r.Kind {
	case KindFail:
		r.Message = "outside its limit"
		if top.fails != nil {
			r.Message = top.fails(top.measure)
		}
	case KindOpen:
		r.Message = undecided(r)
	case KindReview:
		r.Message = reviewed(top)
	default:
		r.Message = holds(p.checks)
	}
	return r
}

func undecided(r Result) string {
	if len(r.Needs) == 0 {
		return "cannot be judged"
	}
	var keys []string
	for _, n := range r.Needs {
		keys = append(keys, n.Key)
	}
	if len(keys) > 3 {
		keys = append(keys[:3], fmt.Sprintf("and %d more", len(keys)-3))
	}
	return "cannot be judged without " + strings.Join(keys, ", ")
}

func reviewed(c *Check) string {
	switch {
	case len(c.assumed) > 0:
		why := c.assumed[0]
		if len(c.assumed) > 1 {
			why += fmt.Sprintf(", and %d more", len(c.assumed)-1)
		}
		return c.measure.Name + " holds only if something undeclared does: " + why
	case c.measure.Loose, c.grade < quantity.Soft:
		return c.measure.Name + " holds where it was computed, but the bound is loose"
	}
	return c.measure.Name + " holds only at typical values"
}

func holds(checks []*Check) string {
	var parts []string
	for _, c := range checks {
		if !c.stated {
			parts = append(parts, c.measure.Name)
		}
	}
	if len(parts) == 0 {
		return "holds"
	}
	return "holds: " + strings.Join(parts, ", ")
}
