package cli

import (
	"context"
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
	bounds
}

// A loaded netlist is what came of it.
type loaded struct {
	netlist *report.Netlist // nil where it could not be judged
	notes   []string
	unread  []report.Unread // what kept it from being judged
}

// load reads a netlist with all that belongs to it and judges it. Without its records or its intent it is not judged:
// that would look like a pass; nor is one whose context is done before the end. stage is told what is being done.
func (in inputs) load(ctx context.Context, path string, list []*rules.Rule, stage func(string)) loaded {
	stage("reading")
	refused := func(err error) loaded {
		return loaded{unread: []report.Unread{{Path: shown(path), Message: err.Error()}}}
	}
	text, err := readNamed(path, in.fileBytes())
	if err != nil {
		return refused(err)
	}
	open, err := in.includes(path)
	if err != nil {
		return refused(err)
	}
	defer open.close()

	set := source.NewSet()
	open.set = set
	cards, diags := parse.Read(set, set.Add(shown(path), text, source.Span{}), parse.Options{Include: open.include,
		FirstIsCard: in.firstIsCard, GrammarOnly: in.grammarOnly, Limits: in.limits, Context: ctx})
	notes := remarks(set, shown(path), cards)

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
		return loaded{notes: notes, unread: unread}
	}

	stage("expanding")
	d, found := design.Bind(set, cards, lib, promised)
	diags = append(diags, found...)

	how := []rules.Option{rules.Progress(func(done, of int) { stage(fmt.Sprintf("judging, %d of %d blocks done", done, of)) })}
	if !in.remedies {
		how = append(how, rules.NoRemedies)
	}
	rep := rules.Judge(d, list, how...)
	if rep.Stopped != nil {
		return refused(rep.Stopped)
	}
	rep.Results = append(rules.FromDiagnostics(diags), rep.Results...)
	n := &report.Netlist{Path: shown(path), Report: rep}
	if file.text != nil {
		n.Intent = file.path
	}
	return loaded{netlist: n, notes: notes}
}

// files are those that judging netlists reads, includes aside, as far as their names tell.
func (in inputs) files(netlists []string) []string {
	list := append(slices.Clone(netlists), in.intent)
	list = append(list, in.parts...)
	for _, n := range netlists {
		beside, _ := filepath.Glob(filepath.Join(filepath.Dir(n), "parts", "*.toml"))
		list = append(append(list, beside...), strings.TrimSuffix(n, filepath.Ext(n))+intentSuffix)
	}
	return list
}

const intentSuffix = ".intent.toml"

// promises is the intent file: the one that was named, or the one beside the netlist, if it is there.
func (in inputs) promises(netlist string) (f file, err error) {
	if in.intent != "" {
		text, err := readNamed(in.intent, in.fileBytes())
		return file{shown(in.intent), text}, err
	}
	name := strings.TrimSuffix(netlist, filepath.Ext(netlist)) + intentSuffix
	text, err := readBeside(filepath.Dir(netlist), filepath.Base(name), "--intent", in.fileBytes())
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
