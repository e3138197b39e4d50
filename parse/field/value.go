package field

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2/unstable"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// valueSpan is where the value of a key stands.
func (r *reader) valueSpan(kv *unstable.Node) source.Span {
	if v := kv.Value(); v.Kind != unstable.Array && v.Kind != unstable.InlineTable {
		return r.span(v.Raw)
	}
	var end uint32
	for it := kv.Key(); it.Next(); {
		raw := it.Node().Raw
		end = raw.Offset + raw.Length
	}
	to := kv.Raw.Offset + kv.Raw.Length
	for end < to && strings.IndexByte(" \t=", r.text[end]) >= 0 {
		end++
	}
	return r.span(unstable.Range{Offset: end, Length: to - end})
}

// value reads a value by the shape of its field; false when it was reported instead.
func (r *reader) value(e *Entry, v *unstable.Node) bool {
	f := e.Field
	switch {
	case v.Kind == unstable.Bool && f.Shape == Flag:
		e.Text = string(v.Data)
		e.Flag = e.Text == "true"
		return true
	case v.Kind == unstable.Integer && f.Shape == Count:
		return r.count(e, v)
	case v.Kind == unstable.Array && (f.Shape == Names || f.Shape == Margins):
		return r.names(e, v)
	case v.Kind == unstable.Array && f.points():
		return r.list(e, v)
	case v.Kind == unstable.String && f.Shape != Flag && f.Shape != Count && f.Shape != Names:
		e.Text = string(v.Data)
		if err := e.read(); err != nil {
			r.fail(e.ValueAt, "%s: %s", clip(e.Key()), err)
			return false
		}
		return true
	}
	r.wrongType(e, v)
	return false
}

// wrongType says how a value of this field is written.
func (r *reader) wrongType(e *Entry, v *unstable.Node) {
	f := e.Field
	example := f.Example()
	if f.quantities() && (v.Kind == unstable.Integer || v.Kind == unstable.Float) && f.Shape != Fault && f.Shape != Allowed {
		example = `"` + clip(string(v.Data)) + " " + f.Unit.Example() + `"`
	}
	want := "this wants text"
	switch {
	case f.Shape == Flag:
		want = "this wants true or false"
	case f.Shape == Count:
		want = "this wants a whole number"
	case f.Shape == Names:
		want = "this wants a list of texts"
	case f.Shape == Date:
		want = "this wants a day as text"
	case f.quantities() || f.Shape == Margins:
		want = "write it as text with its unit"
	}
	r.fail(e.ValueAt, "%s is %s; %s, such as %s", clip(e.Key()), kindWord(v.Kind), want, example)
}

func kindWord(k unstable.Kind) string {
	switch k {
	case unstable.String:
		return "text"
	case unstable.Integer, unstable.Float:
		return "a number without a unit"
	case unstable.Bool:
		return "true or false"
	case unstable.Array:
		return "a list"
	case unstable.InlineTable:
		return "a table"
	default:
		return "a date or time"
	}
}

func (r *reader) count(e *Entry, v *unstable.Node) bool {
	e.Text = string(v.Data)
	n, err := strconv.ParseInt(strings.ReplaceAll(e.Text, "_", ""), 0, 32)
	if err != nil || n < 0 {
		r.fail(e.ValueAt, "%s is a whole number from 0", clip(e.Key()))
		return false
	}
	e.Count = int(n)
	return true
}

func (r *reader) names(e *Entry, v *unstable.Node) bool {
	e.Text = string(r.text[e.ValueAt.Byte-r.base.Byte:][:e.ValueAt.Len])
	e.Names = []string{}
	for it := v.Children(); it.Next(); {
		n := it.Node()
		at := e.ValueAt
		if n.Kind != unstable.Array && n.Kind != unstable.InlineTable {
			at = r.span(n.Raw)
		}
		switch name := string(n.Data); {
		case n.Kind != unstable.String:
			r.fail(at, "%s holds %s; this wants a list of texts", clip(e.Key()), kindWord(n.Kind))
			return false
		case strings.TrimSpace(name) == "":
			r.fail(at, "%s holds an empty name", clip(e.Key()))
			return false
		default:
			if _, _, err := quantity.ReadMargin(name); e.Field.Shape == Margins && err != nil {
				r.fail(at, "%s: %s", clip(e.Key()), err)
				return false
			}
			e.Names, e.NamesAt = append(e.Names, name), append(e.NamesAt, at)
		}
	}
	return true
}

// read reads the text of a value.
func (e *Entry) read() (err error) {
	f := e.Field
	text, usual := strings.CutSuffix(e.Text, " typical")
	if usual && f.quantities() {
		if !f.MayBe {
			return fmt.Errorf("this is no field for a value that is only typical: what is not guaranteed proves nothing here")
		}
		e.Typical = true
	}
	switch f.Shape {
	case Text:
		if strings.TrimSpace(e.Text) == "" {
			return fmt.Errorf("the text is empty")
		}
	case Word:
		if !slices.Contains(f.Words, e.Text) {
			near := source.Nearest(e.Text, slices.Values(f.Words))
			if near != "" && len(e.Text) < 80 {
				return fmt.Errorf("%q is none of %s; did you mean %q?", e.Text, strings.Join(f.Words, ", "), near)
			}
			return fmt.Errorf("%q is none of %s", clip(e.Text), strings.Join(f.Words, ", "))
		}
	case Value, Typical, Points:
		e.Written, err = quantity.ReadWritten(text, f.Unit)
	case AtMost, AtLeast, Goal:
		if e.Written, err = quantity.ReadWritten(text, f.Unit); err == nil {
			err = e.oneSided()
		}
	case Allowed:
		e.Limits, err = quantity.ReadLimits(e.Text, f.Unit)
	case Level:
		e.Formula, err = quantity.ReadFormula(e.Text, f.Unit)
	case Fault:
		size, time, ok := strings.Cut(e.Text, " for ")
		if !ok {
			return fmt.Errorf("how long does it last? write it as in %s", f.Example())
		}
		if e.Written, err = quantity.ReadWritten(size, f.Unit); err != nil {
			return err
		}
		if e.Duration, err = quantity.ReadWritten(time, quantity.Second); err == nil && e.Duration.Range.Lo < 0 {
			err = fmt.Errorf("it cannot last a negative time")
		}
	case Date:
		if e.Day, err = time.Parse(time.DateOnly, e.Text); err != nil {
			return fmt.Errorf("%q is no day; write year, month and day, as in %s", clip(e.Text), f.Example())
		}
	case Margins:
		if _, _, err = quantity.ReadMargin(e.Text); err == nil {
			e.Names, e.NamesAt = []string{e.Text}, []source.Span{e.ValueAt}
		}
	case Names, Flag, Count:
	}
	return err
}

// oneSided refuses a limit that says more than one side of a magnitude.
func (e *Entry) oneSided() error {
	w := e.Written
	absolute := e.Field.Unit == quantity.Celsius || e.Field.Unit == quantity.Decibel
	switch {
	case w.Form == quantity.Toleranced:
		return fmt.Errorf("a limit has no tolerance: write the worst value")
	case w.Form == quantity.Ranged && e.Field.Shape != AtMost:
		return fmt.Errorf("this wants one value, such as %s", e.Field.Example())
	case w.Form != quantity.Ranged && w.Nom < 0 && !absolute:
		return fmt.Errorf("this limits a magnitude, which is not negative")
	}
	return nil
}

// list reads a list of pairs.
func (r *reader) list(e *Entry, v *unstable.Node) bool {
	e.Text = string(r.text[e.ValueAt.Byte-r.base.Byte:][:e.ValueAt.Len])
	name := clip(e.Key())
	f := e.Field
	shape := fmt.Sprintf("[%q, %q]", "1 "+f.XUnit.Example(), "5 "+f.Unit.Example())
	var last *quantity.Written
	for it := v.Children(); it.Next(); {
		var pair []*unstable.Node
		if n := it.Node(); n.Kind == unstable.Array {
			for in := n.Children(); in.Next(); {
				pair = append(pair, in.Node())
			}
		}
		if len(pair) != 2 || pair[0].Kind != unstable.String || pair[1].Kind != unstable.String {
			r.fail(e.ValueAt, "%s is a list of pairs such as %s", name, shape)
			return false
		}
		x, err := quantity.ReadWritten(string(pair[0].Data), f.XUnit)
		if err != nil {
			r.fail(r.span(pair[0].Raw), "%s: %s", name, err)
			return false
		}
		if last != nil && x.Nom < last.Nom && f.Shape == Points {
			r.fail(r.span(pair[0].Raw), "%s: the points stand in rising order, and %s follows %s", name, x.Text, last.Text)
			return false
		}
		last = &x
		if f.Shape == Level {
			y, err := quantity.ReadFormula(string(pair[1].Data), f.Unit)
			if err != nil {
				r.fail(r.span(pair[1].Raw), "%s: %s", name, err)
				return false
			}
			e.Steps = append(e.Steps, Step{x, y})
			continue
		}
		y, err := quantity.ReadWritten(string(pair[1].Data), f.Unit)
		if err != nil {
			r.fail(r.span(pair[1].Raw), "%s: %s", name, err)
			return false
		}
		e.Points = append(e.Points, [2]quantity.Written{x, y})
	}
	if last == nil {
		r.fail(e.ValueAt, "%s is an empty list; this wants pairs such as %s", name, shape)
		return false
	}
	return true
}

// putArray reads tables in braces where an array of tables is known.
func (r *reader) putArray(now place, sub *Table, k key, own int, v *unstable.Node) {
	name := fold(k.path)
	one := func(n *unstable.Node) bool {
		if n.Kind != unstable.InlineTable {
			r.fail(k.span(own), "%s is a table: write it in braces, or under [[%s]]", clip(JoinKey(k.path)),
				clip(JoinKey(k.path)))
			return false
		}
		doc := newDoc(k.span(own))
		doc.Path, doc.order = k.path, len(now.doc.arrays[name])
		now.doc.arrays[name] = append(now.doc.arrays[name], doc)
		for it := n.Children(); it.Next(); {
			r.put(place{doc: doc, table: sub}, key{}, it.Node())
		}
		return true
	}
	if v.Kind != unstable.Array {
		one(v)
		return
	}
	for it := v.Children(); it.Next(); {
		if !one(it.Node()) {
			return
		}
	}
}
