package house

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// patience is how long a child may say nothing before it is killed: it ends a rule by itself when the rule's time is up.
const patience = mostTime + mostTime/2

// mostAnswering is how long one rule may take on one block with all that it asks for.
const mostAnswering = 2 * mostTime

// children is how many children work at once.
func children() int { return min(4, runtime.GOMAXPROCS(0)) }

// command starts a child; a test has others.
var command = func() (*exec.Cmd, error) {
	if len(os.Args) == 2 && os.Args[1] == Word { // or a program that does not know the word would start itself without end
		return nil, errors.New("house rules cannot be run: this program does not pass its arguments to cli.Main")
	}
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	return exec.Command(self, Word), nil
}

// A worker is a child as the linter sees it.
type worker struct {
	cmd    *exec.Cmd
	in     io.WriteCloser
	out    *bufio.Reader
	errs   tail
	busy   string // what it said it works on
	killed atomic.Bool
}

// start starts a child and hands it the files, those that are left when the time is up aside. bad is the file that ended it, -1
// where the child itself did not start.
func (s *Set) start(until time.Time) (w *worker, found map[int]loaded, bad int, err error) {
	cmd, err := command()
	if err != nil {
		return nil, nil, -1, err
	}
	w = &worker{cmd: cmd}
	cmd.Env = []string{}
	cmd.Stderr = &w.errs
	if w.in, err = cmd.StdinPipe(); err != nil {
		return nil, nil, -1, err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, nil, -1, err
	}
	if err := cmd.Start(); err != nil {
		return nil, nil, -1, fmt.Errorf("house rules cannot be run: %w", err)
	}
	s.mu.Lock()
	s.started = append(s.started, w)
	s.mu.Unlock()
	w.out = bufio.NewReaderSize(out, 64<<10)
	found = map[int]loaded{}
	for i, f := range s.files {
		if s.dropped[i] {
			continue
		}
		if time.Now().After(until) {
			w.end()
			return nil, nil, i, errLoading
		}
		var r reply
		if r, err = w.exchange(order{Load: &loading{f.Path, string(f.Text)}}, nil); err == nil && r.Loaded == nil {
			err = errMalformed
		}
		if err != nil {
			w.end()
			return nil, nil, i, err
		}
		found[i] = *r.Loaded
	}
	return w, found, -1, nil
}

var (
	errLoading   = fmt.Errorf("not read: reading house rules took longer than %v", mostLoading)
	errTooLong   = errors.New("not run: other house rules took too long")
	errMalformed = errors.New("the answer is malformed")
	errFlood     = fmt.Errorf("the answer is longer than %d bytes", mostLine)
)

// exchange sends an order and reads what comes back, answering what the child asks on the way.
func (w *worker) exchange(o order, answering func(*ask) answer) (reply, error) {
	w.busy = ""
	text, err := json.Marshal(o)
	if err != nil {
		return reply{}, err
	}
	rules := 1
	if o.Judge != nil {
		rules = len(o.Judge.Rules)
	}
	until := time.Now().Add(time.Duration(rules) * mostAnswering)
	for {
		if time.Now().After(until) {
			w.killed.Store(true)
			return reply{}, w.cause()
		}
		line, err := w.say(text)
		if err != nil {
			return reply{}, err
		}
		var r reply
		if err := json.Unmarshal(line, &r); err != nil {
			return r, errMalformed
		}
		switch {
		case r.Busy != "":
			w.busy, text = r.Busy, nil
		case r.Ask != nil && answering != nil:
			a := answering(r.Ask)
			if text, err = json.Marshal(order{Answer: &a}); err != nil {
				return reply{}, err
			}
		default:
			return r, nil
		}
	}
}

// say writes a line, where there is one, and reads the next, both within the time.
func (w *worker) say(text []byte) ([]byte, error) {
	timer := time.AfterFunc(patience, func() {
		w.killed.Store(true)
		_ = w.cmd.Process.Kill()
	})
	defer timer.Stop()
	if text != nil {
		if _, err := w.in.Write(append(text, '\n')); err != nil {
			return nil, w.cause()
		}
	}
	var line []byte
	for {
		part, err := w.out.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > mostLine:
			return nil, errFlood
		case err == nil:
			return line, nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return nil, w.cause()
		}
	}
}

// cause is why a child is gone.
func (w *worker) cause() error {
	_ = w.cmd.Process.Kill()
	_ = w.cmd.Wait()
	said := w.errs.String()
	switch code := w.cmd.ProcessState.ExitCode(); {
	case w.killed.Load():
		return fmt.Errorf("it took longer than %v", mostTime)
	case code == exitMemory, strings.Contains(said, "out of memory"), strings.Contains(said, "cannot allocate memory"):
		return fmt.Errorf("it took more than %d MB of memory", mostMemory>>20)
	case strings.Contains(said, "stack overflow"), strings.Contains(said, "goroutine stack exceeds"):
		return errors.New("it is nested too deeply")
	}
	return errors.New("it ended the process that ran it")
}

// end ends a child; it holds nothing that would be lost.
func (w *worker) end() {
	_ = w.in.Close()
	_ = w.cmd.Process.Kill()
	_ = w.cmd.Wait()
}

// tail keeps the first bytes of what is written to it.
type tail struct{ bytes.Buffer }

func (t *tail) Write(p []byte) (int, error) {
	if room := 8<<10 - t.Len(); room > 0 {
		t.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}

// fetch is what a rule says about a block. On the design as it was read all rules are asked at once, since all of them will
// be; what the others say is kept until they fetch it.
func (s *Set) fetch(id string, b *bench) (a said, ok bool) {
	key := instance{b.Design, b.name()}
	s.mu.Lock()
	p := s.pending[key]
	if p == nil {
		p = &pending{leaves: map[leaf]quantity.Quantity{}}
		s.pending[key] = p
	}
	s.mu.Unlock()
	b.leaves = p.leaves
	mine := func(a said) bool { return a.Rule == id }
	i := slices.IndexFunc(p.list, mine)
	if i < 0 {
		ids := []string{id}
		if len(p.list) == 0 && b.Design.Plain() {
			ids = nil
			for _, r := range s.Rules {
				if r.Whole == b.Whole() {
					ids = append(ids, r.ID)
				}
			}
		}
		p.list = append(p.list, s.run(ids, *b)...)
		i = slices.IndexFunc(p.list, mine)
	}
	if i >= 0 {
		a, ok = p.list[i], true
		p.list = slices.Delete(p.list, i, i+1)
	}
	if len(p.list) == 0 {
		s.mu.Lock()
		delete(s.pending, key)
		s.mu.Unlock()
	}
	return a, ok
}

// take is a child that has nothing to do, or nil where one may be started.
func (s *Set) take() *worker {
	select {
	case w := <-s.idle:
		return w
	default:
	}
	select {
	case w := <-s.idle:
		return w
	case <-s.room:
		return nil
	}
}

// give hands a child back, or with nil the room for one.
func (s *Set) give(w *worker) {
	if w == nil {
		s.room <- struct{}{}
		return
	}
	s.idle <- w
}

// run has rules judge a block. A rule that ends its child is blamed and stopped; the others go on in another child.
func (s *Set) run(ids []string, b bench) (out []said) {
	w := s.take()
	defer func() { s.give(w) }()
	todo := [][]string{ids}
	for len(todo) > 0 {
		now := slices.DeleteFunc(slices.Clone(todo[0]), s.stopped)
		todo = todo[1:]
		if len(now) == 0 {
			continue
		}
		if w == nil {
			var err error
			if w, _, _, err = s.start(time.Now().Add(mostLoading)); err != nil {
				for _, id := range now {
					s.stop(id, fault{Message: err.Error()})
				}
				continue
			}
		}
		o := judging{Design: s.number(b.Design), Whole: b.Whole(), Rules: now}
		if !o.Whole {
			o.Block = seen(b.Design, b.Block)
		}
		began := time.Now()
		r, err := w.exchange(order{Judge: &o}, b.answer)
		if err == nil && (len(r.Judged) != len(now) || slices.ContainsFunc(r.Judged, func(a said) bool { return !slices.Contains(now, a.Rule) })) {
			err = errMalformed
		}
		if err == nil {
			for _, a := range r.Judged {
				if a.Fault != nil && a.Fault.Spent {
					s.stop(a.Rule, *a.Fault)
				}
			}
			out = append(out, r.Judged...)
			continue
		}
		guilty := w.busy
		w.end()
		w = nil
		switch {
		case len(now) == 1:
			s.stop(now[0], fault{Message: err.Error()})
		case slices.Contains(now, guilty):
			s.stop(guilty, fault{Message: err.Error()})
			todo = append(todo, now)
		default: // one by one it will show
			for _, id := range now {
				todo = append(todo, []string{id})
			}
		}
		if s.loses(time.Since(began)) {
			for _, r := range s.Rules {
				if !s.stopped(r.ID) {
					s.stop(r.ID, fault{Message: errTooLong.Error()})
				}
			}
		}
	}
	return out
}

// loses counts time that was lost on a child that was ended, and tells that it is enough.
func (s *Set) loses(t time.Duration) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lost += t
	return s.lost > mostLost
}

// stop runs a rule no more. Which of several blocks it met first is chance, so none is named.
func (s *Set) stop(id string, f fault) {
	i := slices.IndexFunc(s.Rules, func(r *Rule) bool { return r.ID == id })
	s.blame(id, slices.IndexFunc(s.files, func(f File) bool { return f.Path == s.Rules[i].Path }), "", f, true)
}

// number tells designs apart.
func (s *Set) number(d *design.Design) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if n, ok := s.designs[d]; ok {
		return n
	}
	s.numbers++
	if d.Plain() { // a change is laid over a design for one look at it
		s.designs[d] = s.numbers
	}
	return s.numbers
}
