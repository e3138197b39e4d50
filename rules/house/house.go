// Package house reads and runs house rules: rules that a team writes in Starlark, which join the pipeline as values of
// rules.Rule. It is the only package that knows the scripting library.
//
// A stranger's rule can do no harm. Rules run in a child of our own binary with an empty environment, without files or
// network, with bounded memory, steps and time. The child holds no quantity: it says how one is worked out (expression.go),
// and the linter does so and settles every verdict.
package house

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// MostText is how many bytes a file of rules may have.
const MostText = 1 << 20

// mostLoading bounds how long files that end one child after the other are read again.
const mostLoading = 10 * time.Second

// A File is a file of rules.
type File struct {
	Path string // as printed
	Text []byte
	// Page reads a page that stands beside the file.
	Page func(name string) (string, error)
	// Refused says why the file could not be read; then nothing else counts.
	Refused string
}

// A Rule is a house rule and what is known of it beside.
type Rule struct {
	*rules.Rule
	Path     string   // of its file, as printed
	Verdicts []string // that it can give: fail, notApplicable, open, pass, review
}

// A Set is the house rules of some files, ready to judge. Close it.
type Set struct {
	Rules []*Rule

	files    []File
	idle     chan *worker
	room     chan struct{} // for further children
	mu       sync.Mutex
	troubles map[string]*trouble // by rule, or by path for a file
	pending  map[instance]*pending
	designs  map[*design.Design]int
	numbers  int
	started  []*worker
	dropped  map[int]bool // files that ended a child
	lost     time.Duration
}

// An instance is a block of a design.
type instance struct {
	d    *design.Design
	name string
}

// pending is what rules said about a block that they have not fetched yet, and what was worked out there.
type pending struct {
	list   []said
	leaves map[leaf]quantity.Quantity
}

// A trouble is what is wrong with a rule or a file.
type trouble struct {
	rule    string // "" for a file as a whole
	file    int
	fault   fault
	block   string // on which it was met
	stopped bool   // the rule is not run any more
}

// Open reads files of rules. What cannot be used is told by Settle; the rest is there.
func Open(files []File) *Set {
	s := &Set{files: files, idle: make(chan *worker, children()), room: make(chan struct{}, children()), troubles: map[string]*trouble{}, pending: map[instance]*pending{},
		designs: map[*design.Design]int{}, dropped: map[int]bool{}}
	for range cap(s.room) {
		s.room <- struct{}{}
	}
	for i, f := range files {
		switch {
		case f.Refused != "":
			s.drop(i, fault{Message: f.Refused})
		case len(f.Text) > MostText:
			s.drop(i, fault{Message: "the file is larger than " + parse.Bytes(MostText)})
		}
	}
	if len(s.dropped) == len(files) {
		return s
	}
	var found map[int]loaded
	for began := time.Now(); ; {
		if time.Since(began) > mostLoading {
			for i := range files {
				if !s.dropped[i] {
					s.drop(i, fault{Message: fmt.Sprintf("not read: reading house rules took longer than %v", mostLoading)})
				}
			}
			return s
		}
		w, all, bad, err := s.start(began.Add(mostLoading))
		if err == nil {
			<-s.room
			s.idle <- w
			found = all
			break
		}
		if bad < 0 {
			for i := range files {
				s.drop(i, fault{Message: err.Error()})
			}
			return s
		}
		s.drop(bad, fault{Message: err.Error()})
	}
	for i, f := range files {
		l, ok := found[i]
		if !ok {
			continue
		}
		if l.Fault != nil {
			s.drop(i, *l.Fault)
			continue
		}
		for _, m := range l.Rules {
			s.add(i, f, m)
		}
	}
	return s
}

func (s *Set) drop(file int, f fault) {
	s.dropped[file] = true
	s.troubles[s.files[file].Path] = &trouble{file: file, fault: f, stopped: true}
}

// add makes a rule of what the child told of it.
func (s *Set) add(file int, f File, m meta) {
	page := m.Page
	if strings.HasSuffix(page, ".md") && !strings.Contains(page, "\n") {
		text, err := "", error(nil)
		switch {
		case strings.ContainsAny(page, `/\`):
			err = fmt.Errorf("%s: a page stands beside its rule", page)
		case f.Page == nil:
			err = fmt.Errorf("%s: there is nothing beside the rule", page)
		default:
			text, err = f.Page(page)
		}
		if err != nil {
			s.troubles[m.ID] = &trouble{rule: m.ID, file: file, fault: fault{Message: "its page: " + err.Error(), Line: m.Line}}
		}
		page = text
	}
	id := m.ID
	s.Rules = append(s.Rules, &Rule{Path: f.Path, Verdicts: m.Verdicts, Rule: &rules.Rule{
		ID: id, Title: m.Title, Level: levels[m.Level], Page: page, Whole: m.Whole,
		Judge: func(p *rules.Bench) { s.judge(id, file, p) },
	}})
}

// List is the rules as the pipeline takes them; a nil set has none.
func (s *Set) List() (out []*rules.Rule) {
	if s == nil {
		return nil
	}
	for _, r := range s.Rules {
		out = append(out, r.Rule)
	}
	return out
}

// Close ends the children, also one that still works for somebody who was left behind.
func (s *Set) Close() {
	if s == nil {
		return
	}
	for {
		select {
		case w := <-s.idle:
			w.end()
			continue
		default:
		}
		break
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, w := range s.started {
		_ = w.cmd.Process.Kill()
	}
}

// Settle adds to a report what is wrong with rules and files. What a rule said before it was stopped depends on which block
// came first, so then it has judged none.
func (s *Set) Settle(rep *rules.Report) {
	if s == nil || rep.Stopped != nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, r := range rep.Results {
		if t := s.troubles[r.Rule]; t != nil && t.stopped {
			rep.Results[i] = rules.Result{Rule: r.Rule, Kind: rules.KindOpen, Block: r.Block, Variant: r.Variant, At: r.At, Calls: r.Calls, Message: notRun}
		}
	}
	placed := map[int]source.FileID{}
	var out []rules.Result
	for _, t := range s.sorted() {
		r := rules.Result{Rule: "house-rule", Kind: rules.KindFail, Level: rules.Error, Message: t.text(s.files[t.file].Path)}
		f := s.files[t.file]
		if len(f.Text) > MostText {
			f.Text = nil
		}
		id, ok := placed[t.file]
		if !ok {
			id = rep.Design.Src.Add(f.Path, f.Text, source.Span{})
			placed[t.file] = id
		}
		r.At = lineOf(id, f.Text, max(1, t.fault.Line), t.fault.Column)
		out = append(out, r)
	}
	rep.Results = append(out, rep.Results...)
}

// Troubles are in words what is wrong with files and rules, in the order of the files.
func (s *Set) Troubles() (out []string) {
	if s == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, t := range s.sorted() {
		place := s.files[t.file].Path
		if t.fault.Line > 0 {
			place = fmt.Sprintf("%s:%d:%d", place, t.fault.Line, max(1, t.fault.Column))
		}
		text := t.fault.Message
		if t.rule != "" {
			text = t.text(place)
		}
		out = append(out, place+": "+text)
	}
	return out
}

func (s *Set) sorted() (list []*trouble) {
	for _, t := range s.troubles {
		list = append(list, t)
	}
	slices.SortFunc(list, func(a, b *trouble) int { return cmp.Or(a.file-b.file, strings.Compare(a.rule, b.rule)) })
	return list
}

const notRun = "not judged: the rule was stopped, as house-rule says"

func (t *trouble) text(path string) string {
	name := t.rule
	if name == "" {
		name = path
	}
	text := name + ": " + t.fault.Message
	if t.block != "" {
		text += " (on " + t.block + ")"
	}
	return text
}

// lineOf is a line of a text from a column on, counted from 1.
func lineOf(id source.FileID, text []byte, line, column int) source.Span {
	at := 0
	for range line - 1 {
		i := slices.Index(text[at:], '\n')
		if i < 0 {
			break
		}
		at += i + 1
	}
	end := at
	for end < len(text) && text[end] != '\n' {
		end++
	}
	at = min(at+max(0, column-1), end)
	return source.Span{Pos: source.Pos{File: id, Byte: uint32(at)}, Len: uint32(end - at)}
}

// judge is the function of every house rule.
func (s *Set) judge(id string, file int, p *rules.Bench) {
	if p.Design.Circuit.Cards.Stopped() != nil {
		return
	}
	if s.stopped(id) {
		p.Lacks(notRun)
		return
	}
	b := bench{Bench: p}
	a, ok := s.fetch(id, &b)
	if !ok {
		p.Lacks(notRun)
		return
	}
	if a.Fault == nil || len(a.Acts) > 0 { // what was said before a rule ended counts as well
		if f := b.apply(a.Acts); a.Fault == nil {
			a.Fault = f
		}
	}
	switch f := a.Fault; {
	case f == nil:
	case f.Undecided:
		p.Lacks(f.Message, f.Needs...)
	default:
		p.Lacks("cannot be judged: the rule ends with an error, as house-rule says")
		s.blame(id, file, b.name(), *f, false)
	}
}

// blame notes what is wrong with a rule; of several blocks the first by name tells.
func (s *Set) blame(id string, file int, block string, f fault, stopped bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if t := s.troubles[id]; t != nil && (t.stopped || t.block != "" && t.block <= block && !stopped) {
		return
	}
	s.troubles[id] = &trouble{rule: id, file: file, fault: f, block: block, stopped: stopped}
}

// stopped tells that a rule is not run any more.
func (s *Set) stopped(id string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	t := s.troubles[id]
	return t != nil && t.stopped
}
