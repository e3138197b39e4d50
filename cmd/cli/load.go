package cli

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// inputs say where what belongs to a netlist is found.
type inputs struct {
	parts       []string // files, folders or globs; empty: beside the netlist
	intent      string   // "": beside the netlist
	includeRoot string   // "": the netlist's folder
	firstIsCard bool     // the netlist has no title line
	grammarOnly bool     // no scanner beside the grammar
	remedies    bool     // find what would cure each failure
}

// load reads a netlist with all that belongs to it and judges it. Without its records or its intent it is not judged:
// that would look like a pass.
func (in inputs) load(path string, list []*rules.Rule) (n *report.Netlist, notes []string, unread []report.Unread) {
	text, err := readNamed(path)
	if err != nil {
		return nil, nil, []report.Unread{{Path: shown(path), Message: err.Error()}}
	}
	open, err := in.includes(path)
	if err != nil {
		return nil, nil, []report.Unread{{Path: shown(path), Message: err.Error()}}
	}
	defer open.close()

	set := source.NewSet()
	open.set = set
	cards, diags := parse.Read(set, set.Add(shown(path), text, source.Span{}), parse.Options{Include: open.include, FirstIsCard: in.firstIsCard, GrammarOnly: in.grammarOnly})
	notes = remarks(set, shown(path), cards)

	lib := &part.Library{}
	records, unread := in.records(path)
	for _, f := range records {
		found := lib.Read(set, set.Add(f.path, f.text, source.Span{}))
		if unusable(f.text) {
			unread = append(unread, spoilt(set, f.path, found))
			continue
		}
		diags = append(diags, found...)
	}

	var promised *intent.Intent
	file, err := in.promises(path)
	switch {
	case err != nil:
		unread = append(unread, report.Unread{Path: file.path, Message: err.Error()})
	case file.text != nil:
		var found []source.Diagnostic
		promised, found = intent.Read(set, set.Add(file.path, file.text, source.Span{}))
		if unusable(file.text) {
			unread = append(unread, spoilt(set, file.path, found))
		}
		diags = append(diags, found...)
	}
	if len(unread) > 0 {
		return nil, notes, unread
	}

	d, found := design.Bind(set, cards, lib, promised)
	diags = append(diags, found...)

	var leave []rules.Option
	if !in.remedies {
		leave = append(leave, rules.NoRemedies)
	}
	rep := rules.Judge(d, list, leave...)
	rep.Results = append(rules.FromDiagnostics(diags), rep.Results...)
	n = &report.Netlist{Path: shown(path), Report: rep}
	if file.text != nil {
		n.Intent = file.path
	}
	return n, notes, nil
}

// promises is the intent file: the one that was named, or the one beside the netlist, if it is there.
func (in inputs) promises(netlist string) (f file, err error) {
	if in.intent != "" {
		text, err := readNamed(in.intent)
		return file{shown(in.intent), text}, err
	}
	name := strings.TrimSuffix(netlist, filepath.Ext(netlist)) + ".intent.toml"
	text, err := readBeside(filepath.Dir(netlist), filepath.Base(name), "--intent")
	return file{shown(name), text}, err
}

// remarks are what a person should know of how the netlist was read, one line each.
func remarks(set *source.Set, path string, n *parse.Netlist) (notes []string) {
	if at := n.GroundAlias; !at.None() {
		p := set.Place(at)
		notes = append(notes, fmt.Sprintf("%s:%d: note: %s is node 0", p.Path, p.Line, set.Text(at)))
	}
	var idle, further, lost []string // dot cards that say nothing about the circuit, that vary it, and others
	for _, c := range n.Ignored {
		list := &lost
		switch {
		case c.Further():
			list = &further
		case c.Harmless():
			list = &idle
		}
		if w := strings.ToLower(c.Word); !slices.Contains(*list, w) {
			*list = append(*list, w)
		}
	}
	if len(idle) > 0 {
		notes = append(notes, fmt.Sprintf("%s: note: ignored what says nothing about the circuit: %s", path, strings.Join(idle, ", ")))
	}
	if len(further) > 0 {
		notes = append(notes, fmt.Sprintf("%s: note: judged as drawn, without the further runs of %s", path, strings.Join(further, ", ")))
	}
	if len(lost) > 0 {
		notes = append(notes, fmt.Sprintf("%s: note: passed over, what it defines is missing: %s", path, strings.Join(lost, ", ")))
	}
	return notes
}
