package field

import (
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Format is the number of the newest format that is read: the "format" key at the top of a file may name it or an
// older one.
const Format = 1

// newer looks for the format key ahead of any table and reports one that is not known; then nothing else is read.
func (r *reader) newer() bool {
	var p unstable.Parser
	p.Reset(r.text)
	for p.NextExpression() {
		n := p.Expression()
		if n.Kind != unstable.KeyValue {
			return false
		}
		k := r.keyOf(key{}, n)
		if len(k.path) != 1 || k.path[0] != "format" {
			continue
		}
		r.format = k.span(0)
		v := n.Value()
		number, err := strconv.Atoi(string(v.Data))
		switch {
		case v.Kind != unstable.Integer || err != nil || number < 1:
			r.fail(r.valueSpan(n), "format is a whole number from 1, as in format = %d", Format)
			return true
		case number > Format:
			r.fail(r.valueSpan(n), "format %d is newer than the newest known one, %d", number, Format)
			return true
		}
		return false
	}
	return false
}

// Leads is the first component of the first key of a region, to tell lines apart without reading them; "" when there
// is none. Of a line that is no TOML it is the bare name that it begins with.
func Leads(text []byte) string {
	var p unstable.Parser
	p.Reset(text)
	if !p.NextExpression() {
		lead := strings.TrimLeft(string(text), " \t")
		if end := strings.IndexFunc(lead, func(c rune) bool { return c >= 0x80 || !isBare(byte(c)) }); end >= 0 {
			return lead[:end]
		}
		return lead
	}
	if n := p.Expression(); n.Kind == unstable.KeyValue || n.Kind == unstable.Table || n.Kind == unstable.ArrayTable {
		if it := n.Key(); it.Next() {
			return string(it.Node().Data)
		}
	}
	return ""
}
