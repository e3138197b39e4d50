package house

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"go.starlark.net/starlark"
)

// Word is the one argument with which the linter starts itself to run house rules.
const Word = "house-rules-child"

const (
	mostSteps = 5_000_000     // of the language, by one rule on one block
	mostTime  = time.Second   // of one rule on one block, what it asks for aside
	mostAsks  = 20_000        // by one rule on one block
	mostLost  = 10 * mostTime // of rules that are ended for their steps or time, all together; the others are not run then
	mostRules = 500           // of all files together
	mostLine  = 4 << 20       // bytes of one line over the pipe
	mostStack = 64 << 20      // bytes
	silence   = mostTime / 8  // after which a rule at work is named
	beat      = mostTime / 50 // between two looks at what goes on
)

// Child runs house rules for the linter that started this process: orders come in, answers go out. It returns when there are
// no more.
func Child(in io.Reader, out io.Writer) int {
	confine()
	return serve(in, out)
}

// serve is Child with nothing but the one who watches to bound memory.
func serve(in io.Reader, out io.Writer) int {
	debug.SetMaxStack(mostStack)
	debug.SetMemoryLimit(mostMemory / 2)
	debug.SetGCPercent(800) // what a block takes is small and soon of no use
	c := &child{in: bufio.NewReaderSize(in, 64<<10), out: bufio.NewWriterSize(out, 64<<10), scripts: map[string]*script{}, known: map[string]answer{}}
	c.saying = c.say()
	go c.watch()
	for {
		var o order
		if err := c.read(&o); err != nil {
			if errors.Is(err, io.EOF) {
				return 0
			}
			return 1
		}
		switch {
		case o.Load != nil:
			l := c.load(*o.Load)
			c.write(reply{Loaded: &l})
		case o.Judge != nil:
			c.write(reply{Judged: c.judge(*o.Judge)})
		}
	}
}

// A child is the state of the process that runs house rules.
type child struct {
	in      *bufio.Reader
	scripts map[string]*script
	saying  *thing
	design  int
	known   map[string]answer // what was asked about the circuit, until it is another one
	acts    []act             // of the rule at work
	asks    int
	lost    time.Duration // on rules that were ended

	mu  sync.Mutex // of what follows
	out *bufio.Writer
	at  work
}

// work is what is going on, for the one who watches.
type work struct {
	what   string // a rule or a file; "" for nothing
	began  time.Time
	thread *starlark.Thread
	named  bool
	spent  bool // its steps or its time are over
}

func (c *child) read(into any) error {
	line, err := c.in.ReadBytes('\n')
	if err != nil {
		return err
	}
	return json.Unmarshal(line, into)
}

func (c *child) write(r reply) {
	text, err := json.Marshal(r)
	if err != nil {
		text, _ = json.Marshal(reply{Judged: []said{{Fault: &fault{Message: err.Error()}}}})
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.send(text)
}

func (c *child) send(text []byte) {
	_, _ = c.out.Write(text) // a linter that is gone is noticed when reading
	_ = c.out.WriteByte('\n')
	_ = c.out.Flush()
}

// watch names what takes long, so that the linter knows whom to blame if the process dies, and ends it in time.
func (c *child) watch() {
	for range time.Tick(beat) {
		if heap() > mostMemory {
			c.end()
		}
		c.mu.Lock()
		if took := time.Since(c.at.began); c.at.what != "" && took > silence {
			if !c.at.named {
				c.at.named = true
				text, _ := json.Marshal(reply{Busy: c.at.what})
				c.send(text)
			}
			if took > mostTime {
				c.at.spent = true
				c.at.thread.Cancel(fmt.Sprintf("it took longer than %v", mostTime))
			}
		}
		c.mu.Unlock()
	}
}

// run does something on a thread of its own, within bounds; what names the file or rule it belongs to.
func (c *child) run(what, path string, do func(*starlark.Thread) error) (f *fault) {
	t := &starlark.Thread{Name: what, Print: func(*starlark.Thread, string) {}}
	t.SetMaxExecutionSteps(mostSteps)
	t.OnMaxSteps = func(t *starlark.Thread) {
		c.mu.Lock()
		c.at.spent = true
		c.mu.Unlock()
		t.Cancel(fmt.Sprintf("it took more than %d steps", mostSteps))
	}
	c.mu.Lock()
	c.at = work{what: what, began: time.Now(), thread: t}
	c.mu.Unlock()
	defer func() {
		c.mu.Lock()
		spent := c.at.spent
		c.at = work{}
		c.mu.Unlock()
		if f != nil {
			f.Spent = spent
		}
		if p := recover(); p != nil {
			r, ok := p.(refused)
			if !ok {
				panic(p)
			}
			f = &fault{Message: string(r)}
		}
	}()
	if err := do(t); err != nil {
		return faultOf(err, path)
	}
	return nil
}

func (c *child) judge(j judging) (out []said) {
	if j.Design != c.design {
		c.design = j.Design
		clear(c.known)
	}
	about := c.circuit()
	if !j.Whole {
		about = c.block(j.Block, false)
	}
	for _, id := range j.Rules {
		s := c.scripts[id]
		if s == nil {
			out = append(out, said{Rule: id, Fault: &fault{Message: "the rule is not loaded"}})
			continue
		}
		if c.lost > mostLost {
			out = append(out, said{Rule: id, Fault: &fault{Message: errTooLong.Error(), Spent: true}})
			continue
		}
		c.acts, c.asks = nil, 0
		began := time.Now()
		f := c.run(id, s.path, func(t *starlark.Thread) error {
			_, err := starlark.Call(t, s.judge, starlark.Tuple{about, c.saying}, nil)
			return err
		})
		if f != nil && f.Spent {
			c.lost += time.Since(began)
		}
		out = append(out, said{Rule: id, Acts: c.acts, Fault: f})
	}
	return out
}

// ask asks the linter; the time until it answers is not the rule's.
func (c *child) ask(a ask) (answer, error) {
	if c.asks++; c.asks > mostAsks {
		return answer{}, fmt.Errorf("the rule asks more than %d things", mostAsks)
	}
	c.mu.Lock()
	at := c.at
	c.at.what = ""
	c.mu.Unlock()
	c.write(reply{Ask: &a})
	asked := time.Now()
	var o order
	err := c.read(&o)
	c.mu.Lock()
	at.began = at.began.Add(time.Since(asked))
	c.at = at
	c.mu.Unlock()
	switch {
	case err != nil:
		return answer{}, err
	case o.Answer == nil:
		return answer{}, errors.New("the linter does not answer")
	case o.Answer.Undecided:
		return answer{}, undecided{message: o.Answer.Fault, needs: o.Answer.Needs}
	case o.Answer.Fault != "":
		return answer{}, errors.New(o.Answer.Fault)
	}
	return *o.Answer, nil
}

// lookUp asks about the circuit, which does not change under a rule.
func (c *child) lookUp(a ask) (answer, error) {
	key, err := json.Marshal(a)
	if err != nil {
		return answer{}, err
	}
	if r, ok := c.known[string(key)]; ok {
		return r, nil
	}
	r, err := c.ask(a)
	if err == nil {
		c.known[string(key)] = r
	}
	return r, err
}

// on lists the elements of some kinds on a net.
func (c *child) on(net, of string) ([]element, error) {
	if _, err := kinds(of); err != nil {
		return nil, err
	}
	r, err := c.lookUp(ask{What: "on", Name: net})
	if err != nil || of == "" {
		return r.Elements, err
	}
	var out []element
	for _, e := range r.Elements {
		if slices.Contains([]byte(of), e.Kind[0]) {
			out = append(out, e)
		}
	}
	return out, nil
}

// asked is what a quantity can be.
func (c *child) asked(x *expression) (*reach, error) {
	r, err := c.ask(ask{What: "reach", Quantity: x})
	if err != nil {
		return nil, err
	}
	if r.Reach == nil {
		return nil, errors.New("the linter does not answer")
	}
	return r.Reach, nil
}

// reach is asked, for whoever needs both ends: without them the rule ends undecided.
func (c *child) reach(x *expression) (*reach, error) {
	r, err := c.asked(x)
	switch {
	case err != nil:
		return nil, err
	case len(r.Needs) > 0:
		return nil, undecided{needs: r.Needs}
	case r.Low == nil || r.High == nil:
		return nil, undecided{message: "cannot be judged: the rule compares what nothing limits; at_most or within would tell"}
	case r.Typical:
		return nil, undecided{message: "cannot be judged: the rule compares a typical value; at_most or within would tell"}
	}
	return r, nil
}
