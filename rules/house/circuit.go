package house

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A thing is something with attributes that cannot be changed: a block, an element, a net. Two are equal where kind and
// name are. An attribute is made when it is asked for.
type thing struct {
	kind, name string
	child      *child
	attrs      map[string]func(t *thing) (starlark.Value, error)
	data       any
}

var (
	_ starlark.Comparable = (*thing)(nil)
	_ starlark.HasAttrs   = (*thing)(nil)
)

func (t *thing) String() string       { return t.name }
func (t *thing) Type() string         { return t.kind }
func (t *thing) Freeze()              {}
func (t *thing) Truth() starlark.Bool { return true }

// Hash lets nets and elements be keys.
func (t *thing) Hash() (uint32, error) { return starlark.String(t.kind + t.name).Hash() }

// CompareSameType tells things apart by name.
func (t *thing) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	o := y.(*thing)
	equal := t.kind == o.kind && strings.EqualFold(t.name, o.name)
	switch op {
	case syntax.EQL:
		return equal, nil
	case syntax.NEQ:
		return !equal, nil
	}
	return false, fmt.Errorf("%s has no order", article(t.kind))
}

// AttrNames lists what can be asked of the thing.
func (t *thing) AttrNames() []string {
	var names []string
	for n := range t.attrs {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

// Attr answers; nil is "no such attribute".
func (t *thing) Attr(name string) (starlark.Value, error) {
	f := t.attrs[name]
	if f == nil {
		return nil, nil
	}
	return f(t)
}

type attributes = map[string]func(t *thing) (starlark.Value, error)

// method makes an attribute that is called.
func method(name string, f func(t *thing, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error)) func(*thing) (starlark.Value, error) {
	return func(t *thing) (starlark.Value, error) {
		return starlark.NewBuiltin(name, func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
			return f(t, args, kwargs)
		}), nil
	}
}

func word(get func(*thing) string) func(*thing) (starlark.Value, error) {
	return func(t *thing) (starlark.Value, error) {
		if s := get(t); s != "" {
			return starlark.String(s), nil
		}
		return starlark.None, nil
	}
}

func (c *child) net(name string) *thing {
	return &thing{kind: "net", name: name, child: c, attrs: netAttributes}
}

func (c *child) nets(names []string) *starlark.List {
	return frozen(names, func(n string) starlark.Value { return c.net(n) })
}

func (c *child) element(e element) *thing {
	return &thing{kind: "element", name: e.Path, child: c, attrs: elementAttributes, data: e}
}

func (c *child) elements(list []element) *starlark.List {
	return frozen(list, func(e element) starlark.Value { return c.element(e) })
}

func frozen[T any](list []T, of func(T) starlark.Value) *starlark.List {
	out := make([]starlark.Value, len(list))
	for i, v := range list {
		out[i] = of(v)
	}
	l := starlark.NewList(out)
	l.Freeze()
	return l
}

// events reads the one argument regime, "operating" where it is left out.
func events(name string, args starlark.Tuple, kwargs []starlark.Tuple) (bool, error) {
	regime := "operating"
	if err := starlark.UnpackArgs(name, args, kwargs, "regime?", &regime); err != nil {
		return false, err
	}
	return eventful(regime)
}

func eventful(regime string) (bool, error) {
	switch regime {
	case "operating":
		return false, nil
	case "survival":
		return true, nil
	}
	return false, fmt.Errorf("no regime %q; there are operating and survival", regime)
}

// regimed makes a method that hands out a quantity in a regime.
func regimed(name, op string, u quantity.Unit) func(*thing) (starlark.Value, error) {
	return method(name, func(t *thing, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
		ev, err := events(name, args, kwargs)
		return number{&expression{Op: op, Name: t.name, Events: ev, Unit: u}, t.child}, err
	})
}

var netAttributes, elementAttributes, circuitAttributes, intentAttributes, partAttributes attributes

// kinds reads the argument kinds: the letters of cards.
func kinds(s string) (string, error) {
	if i := strings.IndexFunc(s, func(r rune) bool { return r < 'A' || r > 'Z' }); i >= 0 {
		return "", fmt.Errorf("kinds %q: write the letters of cards, as in \"RL\"", s)
	}
	return s, nil
}

func (c *child) circuit() *thing {
	return &thing{kind: "circuit", name: "circuit", child: c, attrs: circuitAttributes}
}

// valued are the units of card values.
var valued = map[string]quantity.Unit{"R": quantity.Ohm, "C": quantity.Farad, "L": quantity.Henry, "V": quantity.Volt, "I": quantity.Amp}

func init() { // these refer to each other
	netAttributes = attributes{
		"name":    word(func(t *thing) string { return t.name }),
		"voltage": regimed("voltage", opNet, quantity.Volt),
		"elements": method("elements", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var k string
			if err := starlark.UnpackArgs("elements", args, kw, "kinds?", &k); err != nil {
				return nil, err
			}
			list, err := t.child.on(t.name, k)
			return t.child.elements(list), err
		}),
		"neighbours": method("neighbours", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var k string
			if err := starlark.UnpackArgs("neighbours", args, kw, "kinds?", &k); err != nil {
				return nil, err
			}
			list, err := t.child.on(t.name, k)
			var names []string
			for _, e := range list {
				for _, n := range e.Nets {
					if len(e.Nets) == 2 && n != t.name && !slices.Contains(names, n) {
						names = append(names, n)
					}
				}
			}
			return t.child.nets(names), err
		}),
	}
	of := of[element]
	elementAttributes = attributes{
		"path":  word(func(t *thing) string { return t.name }),
		"name":  word(func(t *thing) string { return t.name[strings.LastIndex(t.name, ".")+1:] }),
		"kind":  word(func(t *thing) string { return of(t).Kind }),
		"model": word(func(t *thing) string { return of(t).Model }),
		"part":  word(func(t *thing) string { return of(t).Part }),
		"nets":  func(t *thing) (starlark.Value, error) { return t.child.nets(of(t).Nets), nil },
		"value": func(t *thing) (starlark.Value, error) {
			u, ok := valued[of(t).Kind]
			if v := of(t).Value; v != nil && ok {
				return number{constant(*v, u), t.child}, nil
			}
			return starlark.None, nil
		},
		"resistance": func(t *thing) (starlark.Value, error) {
			if of(t).Kind != "R" {
				return nil, fmt.Errorf("%s is no R card and has no resistance", t.name)
			}
			return number{&expression{Op: opResistance, Name: t.name, Unit: quantity.Ohm}, t.child}, nil
		},
		"current": regimed("current", opCurrent, quantity.Amp),
		"other": method("other", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var n *thing
			if err := starlark.UnpackArgs("other", args, kw, "net", &n); err != nil {
				return nil, err
			}
			nets := of(t).Nets
			i := slices.Index(nets, n.name)
			if len(nets) != 2 || i < 0 {
				return nil, fmt.Errorf("%s has no other end from %s", t.name, n.name)
			}
			return t.child.net(nets[1-i]), nil
		}),
	}
	circuitAttributes = attributes{
		"intent": func(t *thing) (starlark.Value, error) {
			return &thing{kind: "intent", name: "intent", child: t.child, attrs: intentAttributes}, nil
		},
		"elements": method("elements", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			q := ask{What: "elements"}
			if err := starlark.UnpackArgs("elements", args, kw, "kinds?", &q.Kinds, "like?", &q.Like); err != nil {
				return nil, err
			}
			if _, err := kinds(q.Kinds); err != nil {
				return nil, err
			}
			r, err := t.child.lookUp(q)
			return t.child.elements(r.Elements), err
		}),
		"element": method("element", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			q := ask{What: "element"}
			if err := starlark.UnpackArgs("element", args, kw, "path", &q.Name); err != nil {
				return nil, err
			}
			r, err := t.child.lookUp(q)
			if err != nil || !r.Found {
				return starlark.None, err
			}
			return t.child.element(r.Elements[0]), nil
		}),
		"net": method("net", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			q := ask{What: "net"}
			if err := starlark.UnpackArgs("net", args, kw, "name", &q.Name); err != nil {
				return nil, err
			}
			r, err := t.child.lookUp(q)
			if err != nil || !r.Found {
				return starlark.None, err
			}
			return t.child.net(r.Name), nil
		}),
		"blocks": method("blocks", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			if err := starlark.UnpackArgs("blocks", args, kw); err != nil {
				return nil, err
			}
			r, err := t.child.lookUp(ask{What: "blocks"})
			return frozen(r.Blocks, func(v view) starlark.Value { return t.child.block(v, true) }), err
		}),
		"path": method("path", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var from, to *thing
			q := ask{What: "path"}
			if err := starlark.UnpackArgs("path", args, kw, "from", &from, "to", &to, "kinds?", &q.Kinds); err != nil {
				return nil, err
			}
			if _, err := kinds(q.Kinds); err != nil {
				return nil, err
			}
			q.Name, q.To = from.name, to.name
			r, err := t.child.lookUp(q)
			if err != nil || !r.Found {
				return starlark.None, err
			}
			return t.child.elements(r.Elements), nil
		}),
	}
	intentAttributes = attributes{
		"get": method("get", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			q := ask{What: "intent"}
			for _, v := range args {
				s, ok := starlark.AsString(v)
				if !ok || len(kw) > 0 {
					return nil, fmt.Errorf("get takes the parts of a key as texts, as in get(\"rails\", \"V5\", \"operating\")")
				}
				q.Path = append(q.Path, s)
			}
			r, err := t.child.lookUp(q)
			switch {
			case err != nil:
				return nil, err
			case r.Entry == nil:
				return starlark.None, nil
			case r.Entry.Flag != nil:
				return starlark.Bool(*r.Entry.Flag), nil
			case r.Entry.Quantity:
				return number{&expression{Op: opIntent, Path: q.Path, Unit: r.Entry.Unit}, t.child}, nil
			case r.Entry.Names != nil:
				return texts(r.Entry.Names), nil
			}
			return starlark.String(r.Entry.Text), nil
		}),
	}
	partAttributes = attributes{
		"name": word(func(t *thing) string { return t.name }),
		"get": method("get", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			f, ev, err := recordField("get", args, kw)
			if err != nil {
				return nil, err
			}
			return number{&expression{Op: opPart, Name: f.key, Events: ev, Unit: f.unit}, t.child}, nil
		}),
		"limits": method("limits", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			f, ev, err := recordField("limits", args, kw)
			if err != nil {
				return nil, err
			}
			return starlark.Tuple{number{&expression{Op: opPartLow, Name: f.key, Events: ev, Unit: f.unit}, t.child},
				number{&expression{Op: opPartHigh, Name: f.key, Events: ev, Unit: f.unit}, t.child}}, nil
		}),
	}
}

type keyed struct {
	key  string
	unit quantity.Unit
}

// recordField reads the arguments key and regime of what is asked of a part record.
func recordField(name string, args starlark.Tuple, kw []starlark.Tuple) (f keyed, events bool, err error) {
	regime := "operating"
	if err := starlark.UnpackArgs(name, args, kw, "key", &f.key, "regime?", &regime); err != nil {
		return f, false, err
	}
	field := part.Lookup(f.key)
	if field == nil {
		var known []string
		for _, p := range part.Fields {
			known = append(known, p.Key)
		}
		return f, false, nothingCalled("field of part records", f.key, known)
	}
	f.unit = field.Unit
	events, err = eventful(regime)
	return f, events, err
}
