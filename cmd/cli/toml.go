package cli

import (
	"bytes"
	"strconv"

	"github.com/pelletier/go-toml/v2/unstable"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// unusable tells that a record or intent file cannot be taken at its word as a whole: it is not TOML to its end, or it
// is of a format that is not known. What a file of the right form says wrongly is a result and no reason to stop.
func unusable(text []byte) bool {
	var p unstable.Parser
	p.Reset(bytes.TrimPrefix(text, []byte("\ufeff")))
	top := true
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind == unstable.Table || e.Kind == unstable.ArrayTable {
			top = false
		}
		if !top || e.Kind != unstable.KeyValue {
			continue
		}
		key := e.Key()
		if key.Next() && key.IsLast() && string(key.Node().Data) == "format" {
			v := e.Value()
			if n, err := strconv.Atoi(string(v.Data)); v.Kind != unstable.Integer || err != nil || n < 1 || n > field.Format {
				return true
			}
		}
	}
	return p.Error() != nil
}

// spoilt is what keeps a file from being used, with its place: reading ends there, so it is the last thing said.
func spoilt(set *source.Set, path string, diags []source.Diagnostic) report.Unread {
	if len(diags) == 0 {
		return report.Unread{Path: path, Message: "not TOML; nothing is judged without this file"}
	}
	last := diags[len(diags)-1]
	p := set.Place(last.At)
	return report.Unread{Path: p.Path, Line: p.Line, Column: p.Column, Message: last.Text() + "; nothing is judged without this file"}
}
