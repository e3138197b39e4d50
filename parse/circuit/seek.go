package circuit

import (
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// seek reports the elements that a card names by a path into an instance and that are not there.
func (c *Circuit) seek() {
	for id := range c.Elements {
		x := c.extra(ID(id))
		if x == nil || len(x.Names) == 0 {
			continue
		}
		at := c.instPath(c.Elements[id].Inst)
		for _, ref := range x.Names {
			name := c.Cards.Names[ref]
			if !strings.Contains(name, ".") {
				continue
			}
			if _, ok := c.Find(at + name); !ok {
				c.eval.report(source.Diagnostic{At: c.Card(ID(id)), Rule: ruleCard,
					Message: fmt.Sprintf("%s names %q, which is not there", c.Cards.CardName(c.Elements[id].Card), name)})
			}
		}
	}
}
