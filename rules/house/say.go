package house

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

const (
	mostActs = 200  // that a rule may say about one block
	mostText = 2000 // bytes of one text

	mostKnobs = 40 // resistors whose value is searched for remedies
)

// The calls of say, and the verdict that each can end in.
var verdicts = map[string][]string{
	"breach": {"fail"}, "holds": {"pass"}, "holds_if": {"review"}, "missing": {"open"}, "skip": {"notApplicable"},
	"at_most": {"fail", "pass"}, "at_least": {"fail", "pass"}, "within": {"fail", "pass"},
}

// say is what a rule talks through.
func (c *child) say() *thing {
	attrs := attributes{}
	for name, read := range map[string]func(*act, starlark.Tuple, []starlark.Tuple) error{
		"breach": readBreach, "holds": readHolds, "holds_if": readHoldsIf, "missing": readMissing, "skip": readSkip,
		"at_most": readLimit("at_most"), "at_least": readLimit("at_least"), "within": readWithin,
	} {
		b := starlark.NewBuiltin(name, func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			a := act{Do: name}
			if err := read(&a, args, kw); err != nil {
				return nil, err
			}
			if err := c.take(a); err != nil {
				return nil, err
			}
			return starlark.None, nil
		})
		attrs[name] = func(*thing) (starlark.Value, error) { return b, nil }
	}
	return &thing{kind: "say", name: "say", child: c, attrs: attrs}
}

func (c *child) take(a act) error {
	if len(c.acts) == mostActs {
		return fmt.Errorf("the rule says more than %d things about one block", mostActs)
	}
	n := len(a.Message) + len(a.Remedy) + len(a.Name) + len(a.Limit) + len(a.In)
	for _, e := range a.Evidence {
		n += len(e.Text)
	}
	if n > mostText {
		return fmt.Errorf("the rule says more than %d bytes at once", mostText)
	}
	knobs := len(a.Lower) + len(a.Raise)
	for _, o := range c.acts {
		knobs += len(o.Lower) + len(o.Raise)
	}
	if knobs > mostKnobs {
		return fmt.Errorf("the rule names more than %d resistors for remedies about one block", mostKnobs)
	}
	c.acts = append(c.acts, a)
	return nil
}

// about are the arguments that all calls share.
type about struct {
	at                      *thing
	level, remedy           string
	evidence, lower, higher *starlark.List
}

func (b *about) pairs() []any {
	return []any{"at??", &b.at, "level?", &b.level, "remedy?", &b.remedy, "evidence?", &b.evidence, "lower?", &b.lower, "higher?", &b.higher}
}

func (b *about) into(a *act) error {
	a.Level, a.Remedy = b.level, b.remedy
	if b.level != "" {
		if _, err := levelOf(b.level); err != nil {
			return err
		}
	}
	if b.at != nil {
		if b.at.kind != "element" {
			return fmt.Errorf("at is %s; name the element that the finding is about", article(b.at.kind))
		}
		a.At = b.at.name
	}
	var err error
	if a.Lower, err = resistors(b.lower); err != nil {
		return err
	}
	if a.Raise, err = resistors(b.higher); err != nil {
		return err
	}
	for i := range lengthOf(b.evidence) {
		p, ok := b.evidence.Index(i).(starlark.Tuple)
		if !ok || len(p) != 2 {
			return errors.New("evidence is a list of pairs: an element and what there is to see at it")
		}
		e, isElement := p[0].(*thing)
		text, isText := starlark.AsString(p[1])
		if !isElement || !isText || e.kind != "element" {
			return errors.New("evidence is a list of pairs: an element and what there is to see at it")
		}
		a.Evidence = append(a.Evidence, pointer{e.name, text})
	}
	return nil
}

func lengthOf(l *starlark.List) int {
	if l == nil {
		return 0
	}
	return l.Len()
}

// resistors are the elements whose value a remedy may turn.
func resistors(l *starlark.List) (paths []string, err error) {
	for i := range lengthOf(l) {
		e, ok := l.Index(i).(*thing)
		if !ok || e.kind != "element" || of[element](e).Kind != "R" {
			return nil, errors.New("lower and higher are lists of R cards, whose values are searched for a remedy")
		}
		paths = append(paths, e.name)
	}
	return paths, nil
}

func readBreach(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	var b about
	if err := starlark.UnpackArgs("breach", args, kw, append([]any{"message", &a.Message}, b.pairs()...)...); err != nil {
		return err
	}
	if a.Message == "" {
		return errors.New("breach: say what is wrong")
	}
	return b.into(a)
}

func readHolds(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	var b about
	if err := starlark.UnpackArgs("holds", args, kw, "message?", &a.Message, "at??", &b.at); err != nil {
		return err
	}
	if a.Message == "" {
		a.Message = "holds"
	}
	return b.into(a)
}

func readHoldsIf(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	var b about
	if err := starlark.UnpackArgs("holds_if", args, kw, "message", &a.Message, "at??", &b.at, "evidence?", &b.evidence); err != nil {
		return err
	}
	if a.Message == "" {
		return errors.New("holds_if: say what has to be true")
	}
	return b.into(a)
}

func readMissing(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	var b about
	a.In = "intent"
	if err := starlark.UnpackArgs("missing", args, kw, "what", &a.Name, "where?", &a.In, "message?", &a.Message, "at??", &b.at); err != nil {
		return err
	}
	if a.Name == "" {
		return errors.New("missing: name what would settle it")
	}
	return b.into(a)
}

func readSkip(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	if err := starlark.UnpackArgs("skip", args, kw, "why", &a.Message); err != nil {
		return err
	}
	if a.Message == "" {
		return errors.New("skip: say why there is nothing to judge")
	}
	return nil
}

// held reads the arguments of a call that holds a quantity.
func held(a *act, q starlark.Value) (u quantity.Unit, err error) {
	n, ok := q.(number)
	if !ok {
		return u, fmt.Errorf("%s: this is %s, it holds a quantity", a.Do, article(q.Type()))
	}
	a.Quantity = n.x
	return n.x.Unit, nil
}

func readLimit(name string) func(*act, starlark.Tuple, []starlark.Tuple) error {
	return func(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
		var b about
		var q, limit starlark.Value
		pairs := append([]any{"quantity", &q, "limit", &limit, "name?", &a.Name, "limit_name?", &a.Limit, "message?", &a.Message}, b.pairs()...)
		if err := starlark.UnpackArgs(name, args, kw, pairs...); err != nil {
			return err
		}
		u, err := held(a, q)
		if err != nil {
			return err
		}
		x, err := measured(limit, u, "the limit")
		if err != nil {
			return err
		}
		if a.Low = x; name == "at_most" {
			a.Low, a.High = nil, x
		}
		return b.into(a)
	}
}

func readWithin(a *act, args starlark.Tuple, kw []starlark.Tuple) error {
	var b about
	var q, low, high starlark.Value
	pairs := append([]any{"quantity", &q, "low", &low, "high??", &high, "name?", &a.Name, "limit_name?", &a.Limit, "message?", &a.Message}, b.pairs()...)
	if err := starlark.UnpackArgs("within", args, kw, pairs...); err != nil {
		return err
	}
	u, err := held(a, q)
	if err != nil {
		return err
	}
	if pair, ok := low.(starlark.Tuple); ok && len(pair) == 2 && high == nil {
		low, high = pair[0], pair[1]
	}
	if a.Low, err = measured(low, u, "the lower limit"); err != nil {
		return err
	}
	switch {
	case high != nil:
		if a.High, err = measured(high, u, "the upper limit"); err != nil {
			return err
		}
	case a.Low.Op == opConstant && a.Low.Low < a.Low.High: // "4 V .. 6 V"
		a.Low, a.High = constant(a.Low.Low, u), constant(a.Low.High, u)
	default:
		return errors.New(`within: give both limits, or a range such as "4 V .. 6 V"`)
	}
	return b.into(a)
}
