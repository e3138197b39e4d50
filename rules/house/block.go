package house

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// seenBlock is the block of a rule, or with other another one of the circuit, which hands out what it is made of but no
// quantities of its own.
type seenBlock struct {
	view
	other bool
}

func (c *child) block(v view, other bool) *thing {
	return &thing{kind: "block", name: v.Name, child: c, attrs: blockAttributes, data: seenBlock{v, other}}
}

var blockAttributes, legAttributes, pinAttributes, outputAttributes attributes

func of[T any](t *thing) T { return t.data.(T) }

// own makes a method of a block that hands out a quantity in a regime, and only of the block that is judged.
func own(name, op string, u quantity.Unit) func(*thing) (starlark.Value, error) {
	return method(name, func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
		ev, err := events(name, args, kw)
		if err != nil {
			return nil, err
		}
		return t.mine(&expression{Op: op, Events: ev, Unit: u})
	})
}

func (t *thing) mine(x *expression) (starlark.Value, error) {
	if of[seenBlock](t).other {
		return nil, fmt.Errorf("%s is judged by itself; of another block only its elements and nets can be asked", t.name)
	}
	return number{x, t.child}, nil
}

func init() {
	list := func(get func(seenBlock) []element) func(*thing) (starlark.Value, error) {
		return func(t *thing) (starlark.Value, error) { return t.child.elements(get(of[seenBlock](t))), nil }
	}
	legOf := func(name string, get func(seenBlock) leg) func(*thing) (starlark.Value, error) {
		return func(t *thing) (starlark.Value, error) {
			return &thing{kind: "leg", name: t.name + " " + name, child: t.child, attrs: legAttributes, data: get(of[seenBlock](t))}, nil
		}
	}
	blockAttributes = attributes{
		"name":          word(func(t *thing) string { return t.name }),
		"kind":          word(func(t *thing) string { return of[seenBlock](t).Kind }),
		"unit":          word(func(t *thing) string { return of[seenBlock](t).Unit }),
		"broken":        word(func(t *thing) string { return of[seenBlock](t).Broken }),
		"amplifier":     func(t *thing) (starlark.Value, error) { return t.child.element(of[seenBlock](t).Amplifier), nil },
		"shunt":         list(func(b seenBlock) []element { return b.Shunt }),
		"supply_series": list(func(b seenBlock) []element { return b.SupplySeries }),
		"plus":          legOf("in+", func(b seenBlock) leg { return b.Plus }),
		"minus":         legOf("in-", func(b seenBlock) leg { return b.Minus }),
		"part": func(t *thing) (starlark.Value, error) {
			b := of[seenBlock](t)
			if b.other {
				return starlark.String(b.Part), nil
			}
			return &thing{kind: "part", name: b.Part, child: t.child, attrs: partAttributes}, nil
		},
		"pins": func(t *thing) (starlark.Value, error) {
			d := starlark.NewDict(len(of[seenBlock](t).Pins))
			for _, p := range of[seenBlock](t).Pins {
				if err := d.SetKey(starlark.String(p.Role), t.child.net(p.Net)); err != nil {
					return nil, err
				}
			}
			d.Freeze()
			return d, nil
		},
		"references": func(t *thing) (starlark.Value, error) {
			return frozen(of[seenBlock](t).References, func(p pin) starlark.Value {
				return &thing{kind: "pin", name: p.Role, child: t.child, attrs: pinAttributes, data: p}
			}), nil
		},
		"output": func(t *thing) (starlark.Value, error) {
			return &thing{kind: "output", name: t.name + " output", child: t.child, attrs: outputAttributes, data: of[seenBlock](t).Output}, nil
		},
		"circuit": func(t *thing) (starlark.Value, error) {
			return t.child.circuit(), nil
		},
		"intent": func(t *thing) (starlark.Value, error) {
			return &thing{kind: "intent", name: "intent", child: t.child, attrs: intentAttributes}, nil
		},
		"shunt_resistance": func(t *thing) (starlark.Value, error) { return t.mine(&expression{Op: opShunt, Unit: quantity.Ohm}) },
		"current":          own("current", opShuntCurrent, quantity.Amp),
		"out":              own("out", opOut, quantity.Volt),
		"zero":             own("zero", opZero, quantity.Volt),
		"voltage": method("voltage", func(t *thing, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var role string
			regime := "operating"
			if err := starlark.UnpackArgs("voltage", args, kw, "pin", &role, "regime?", &regime); err != nil {
				return nil, err
			}
			var roles []string
			for _, p := range of[seenBlock](t).Pins {
				roles = append(roles, p.Role)
			}
			if !slices.Contains(roles, role) {
				return nil, nothingCalled("pin", role, roles)
			}
			ev, err := eventful(regime)
			if err != nil {
				return nil, err
			}
			return t.mine(&expression{Op: opVoltage, Name: role, Events: ev, Unit: quantity.Volt})
		}),
	}
	legAttributes = attributes{
		"pin":    func(t *thing) (starlark.Value, error) { return t.child.net(of[leg](t).Pin), nil },
		"shunt":  func(t *thing) (starlark.Value, error) { return t.child.net(of[leg](t).Shunt), nil },
		"series": func(t *thing) (starlark.Value, error) { return t.child.elements(of[leg](t).Series), nil },
		"nets":   func(t *thing) (starlark.Value, error) { return t.child.nets(of[leg](t).Inner), nil },
	}
	pinAttributes = attributes{
		"role":   word(func(t *thing) string { return of[pin](t).Role }),
		"net":    func(t *thing) (starlark.Value, error) { return t.child.net(of[pin](t).Net), nil },
		"source": word(func(t *thing) string { return of[pin](t).Source }),
	}
	outputAttributes = attributes{
		"pin":       func(t *thing) (starlark.Value, error) { return t.child.net(of[output](t).Pin), nil },
		"net":       func(t *thing) (starlark.Value, error) { return t.child.net(of[output](t).Converter), nil },
		"converter": word(func(t *thing) string { return of[output](t).Declared }),
		"series":    func(t *thing) (starlark.Value, error) { return t.child.elements(of[output](t).Series), nil },
	}
}
