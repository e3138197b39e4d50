package circuit

import (
	"strings"
)

// Path is an element's name with the instances it stands in, as written: "XA.R3".
func (c *Circuit) Path(id ID) string {
	e := &c.Elements[id]
	return c.instPath(e.Inst) + c.Cards.CardName(e.Card)
}

// NetName is a net's name with the instances it stands in, as first written: "XA.n1"; "0" for ground.
func (c *Circuit) NetName(n Net) string {
	k := c.names[n]
	return c.instPath(k.inst) + c.Cards.Names[k.name]
}

// instPath is the path of an instance with a dot behind it; "" for the top.
func (c *Circuit) instPath(i Inst) string {
	if i == 0 {
		return ""
	}
	var parts []string
	for ; i != 0; i = c.insts[i].up {
		parts = append(parts, c.Cards.CardName(c.insts[i].call))
	}
	var b strings.Builder
	for k := len(parts) - 1; k >= 0; k-- {
		b.WriteString(parts[k])
		b.WriteByte('.')
	}
	return b.String()
}

// Find finds an element by its path, in any case. Of two elements of one name it is the first.
func (c *Circuit) Find(path string) (ID, bool) {
	// A name of its own may hold a dot, so that where the instances end is not known.
	for cut := len(path); cut >= 0; cut = strings.LastIndexByte(path[:cut], '.') {
		prefix, name := "", path
		if cut < len(path) {
			prefix, name = path[:cut+1], path[cut+1:]
		}
		if inst, ok := c.instance(prefix); ok {
			if id, ok := c.elements().find(inst, name); ok {
				return ID(id), true
			}
		}
	}
	return 0, false
}

// instance is the instance of a path with a dot behind it; "" is the top. A name may hold a dot itself.
func (c *Circuit) instance(prefix string) (Inst, bool) {
	if prefix == "" {
		return 0, true
	}
	steps := 1000
	return c.descend(0, prefix[:len(prefix)-1], &steps)
}

func (c *Circuit) descend(at Inst, path string, steps *int) (Inst, bool) {
	for cut := 0; cut <= len(path); cut++ {
		if cut < len(path) && path[cut] != '.' {
			continue
		}
		if *steps--; *steps < 0 {
			return 0, false
		}
		k, ok := c.children().find(at, path[:cut])
		if !ok {
			continue
		}
		child := Inst(k)
		if cut == len(path) {
			return child, true
		}
		if found, ok := c.descend(child, path[cut+1:], steps); ok {
			return found, true
		}
	}
	return 0, false
}

// FindNet finds a net by its path, in any case. A port of an instance is the net it is connected to.
func (c *Circuit) FindNet(path string) (Net, bool) {
	for cut := len(path); cut >= 0; cut = strings.LastIndexByte(path[:cut], '.') {
		prefix, name := "", path
		if cut < len(path) {
			prefix, name = path[:cut+1], path[cut+1:]
		}
		inst, ok := c.instance(prefix)
		if !ok {
			continue
		}
		id, ok := c.Cards.NodeID(name)
		if !ok {
			continue
		}
		if n, ok := c.netIn(netName{inst, id}); ok {
			return n, true
		}
	}
	return 0, false
}

// netIn is the net that a name means in an instance.
func (c *Circuit) netIn(k netName) (Net, bool) {
	for {
		if k.name == 0 {
			return 0, true
		}
		port := -1
		in := &c.insts[k.inst]
		if k.inst != 0 {
			for i, p := range c.Cards.Subs[in.sub].Ports {
				if p == k.name {
					port = i
				}
			}
		}
		if port < 0 {
			if n, ok := c.globals[k.name]; ok {
				return n, true
			}
			return c.nets().find(k)
		}
		k = netName{in.up, c.Cards.CardNodes(in.call)[port]}
	}
}
