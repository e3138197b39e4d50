package intent

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/envelope"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// unknownEnvelope reports the name of an envelope that nobody knows, with those that it may mean.
func unknownEnvelope(e *field.Entry) source.Diagnostic {
	near, list := envelope.Near(e.Text)
	return unknownRow(e, "envelope", near, list)
}

// unknownPulse is unknownEnvelope for a pulse.
func unknownPulse(e *field.Entry) source.Diagnostic {
	near, list := envelope.NearPulse(e.Text)
	return unknownRow(e, "pulse", near, list)
}

func unknownRow(e *field.Entry, what, near string, list []string) source.Diagnostic {
	d := source.Diagnostic{At: e.ValueAt, Rule: rule, Near: near, Message: fmt.Sprintf("%s: there is no %s %q", e.Key(), what, source.Clip(e.Text, 80))}
	list = slices.DeleteFunc(list, func(name string) bool { return name == near })
	switch {
	case len(list) > 0 && near == "":
		d.Message += "; near are " + strings.Join(list, ", ")
	case len(list) > 0:
		d.Message += "; near are " + strings.Join(append([]string{near}, list...), ", ")
	case near == "":
		d.Message += "; the command envelopes lists them"
	}
	return d
}

// checkEvents holds events to those that the envelope of their rail has.
func checkEvents(d *field.Doc, e *field.Entry) (diags []source.Diagnostic) {
	rail := e.Path[1]
	if o := d.Get("rails", rail, "survival"); o != nil {
		diags = append(diags, source.Diagnostic{At: e.At, Rule: rule, Message: e.Key() + ": the rail declares what it survives already",
			Related: []source.Related{{At: o.At, Message: "declared here"}}})
	}
	named := d.Get("rails", rail, "envelope")
	if named == nil {
		return append(diags, source.Diagnostic{At: e.At, Rule: rule, Message: e.Key() + ": this wants the envelope that the events are of, as in envelope = \"ISO 16750-2:2023 12 V C\""})
	}
	env := envelope.Find(named.Text)
	if env == nil {
		return diags
	}
	for i, name := range e.Names {
		if _, ok := env.Event(name); ok {
			continue
		}
		diag := source.Diagnostic{At: e.NamesAt[i], Rule: rule, Message: fmt.Sprintf("%s: %s has no event %q", e.Key(), env.Name, source.Clip(name, 80))}
		diag.Near = source.Nearest(name, slices.Values(env.EventNames()))
		switch {
		case len(env.Events) == 0:
			diag.Message += "; it has none"
		case diag.Near == "":
			diag.Message += "; there are " + strings.Join(env.EventNames(), ", ")
		}
		diags = append(diags, diag)
	}
	return diags
}
