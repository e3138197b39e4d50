package circuit

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse"
)

// Marked are the elements whose card, or an X card that leads to them, says name= with a value other than 0, in order.
// Where the subcircuit that is called has a parameter of that name, it is that and marks nothing.
func (c *Circuit) Marked(name string) (ids []ID) {
	calls := make([]bool, len(c.insts)) // an instance stands behind the one that it is called in
	for i := 1; i < len(c.insts); i++ {
		in := &c.insts[i]
		calls[i] = calls[in.up]
		p := parameter(c.Cards.CardExtra(in.call), name)
		if calls[i] || p == nil || c.has(in.sub, name) {
			continue
		}
		v := c.given(c.insts[in.up].env, p)
		calls[i] = v != 0 && v == v
	}
	for id := range c.Elements {
		v, given := c.Given(ID(id), name)
		if calls[c.Elements[id].Inst] || given && v != 0 && v == v {
			ids = append(ids, ID(id))
		}
	}
	return ids
}

func parameter(x *parse.Extra, name string) *parse.Param {
	if x == nil {
		return nil
	}
	for i := range x.Params {
		if strings.EqualFold(x.Params[i].Name, name) {
			return &x.Params[i]
		}
	}
	return nil
}

// has tells that a subcircuit has a parameter.
func (c *Circuit) has(sub parse.SubID, name string) bool {
	for _, p := range c.Cards.Subs[sub].Params {
		if strings.EqualFold(p.Name, name) {
			return true
		}
	}
	return false
}

// Within are the elements inside of instances of subcircuits, by the paths of those that are named, in lower case.
func (c *Circuit) Within(paths []string) map[string][]ID {
	if len(paths) == 0 {
		return nil
	}
	out := map[string][]ID{}
	for _, p := range paths {
		out[strings.ToLower(p)] = nil
	}
	called := make([]string, len(c.insts)) // the path of each instance that is named
	for i := 1; i < len(c.insts); i++ {
		path := strings.ToLower(strings.TrimSuffix(c.instPath(Inst(i)), "."))
		if _, ok := out[path]; ok {
			called[i] = path
		}
	}
	for id := range c.Elements {
		for i := c.Elements[id].Inst; i != 0; i = c.insts[i].up {
			if called[i] != "" {
				out[called[i]] = append(out[called[i]], ID(id))
			}
		}
	}
	return out
}
