package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/policy"
)

// inputs say where what belongs to a netlist is found.
type inputs struct {
	parts       []string // files, folders or globs; empty: beside the netlist
	intent      string   // "": beside the netlist
	house       []string // house rules: files, folders or globs; empty: beside the netlist
	houses      *houses  // those that are open; nil: none are looked for
	includeRoot string   // "": the netlist's folder
	firstLine   string   // "title", or "card" where the netlist has no title line
	grammarOnly bool     // no scanner beside the grammar
	remedies    bool     // find what would cure each failure
	growth      bool     // find what breaks first as something grows
	variants    string   // which assembly variants are judged; "": the drawing and all
	policy      string   // "": found upward from the netlist
	today       time.Time
	allowance
}

// flags adds the flags that say how netlists are read to a command.
func (in *inputs) flags(c *cobra.Command) {
	c.Flags().StringArrayVar(&in.parts, "parts", nil, "part records from this file, folder or glob `PATH` and not from beside the netlist; may be repeated")
	c.Flags().StringArrayVar(&in.house, "house", nil, "house rules from this file, folder or glob `PATH` and not from house/*.star beside the netlist; may be repeated")
	c.Flags().StringVar(&in.intent, "intent", "", "intent from this `FILE`")
	c.Flags().StringVar(&in.policy, "policy", "", "policy from this `FILE` and not from the shuntwright.toml found upward from the netlist")
	c.Flags().StringVar(&in.includeRoot, "include-root", "", "let netlists include files from anywhere in this `FOLDER`, not only from their own")
	c.Flags().StringVar(&in.firstLine, "first-line", "title", "what the first line of a netlist is: title, or card where there is no title line")
	c.Flags().BoolVar(&in.grammarOnly, "grammar-only", false, "read every card by the grammar")
	if err := c.Flags().MarkHidden("grammar-only"); err != nil {
		panic(err)
	}
	in.allowance.flags(c)
}

// check refuses flags that nobody knows the meaning of.
func (in inputs) check() error {
	if in.firstLine != "title" && in.firstLine != "card" {
		return fmt.Errorf("--first-line %q is not known: title or card", in.firstLine)
	}
	return nil
}

// A loaded netlist is what came of it.
type loaded struct {
	netlist *report.Netlist // nil where it could not be judged
	rules   []*rules.Rule   // that judged it
	notes   []string
	unread  []report.Unread     // what kept it from being judged
	offered []policy.Acceptance // for this netlist
	idle    []policy.Idle       // those of them that accept nothing here
	policy  decided
}

// A designRead is a netlist bound together with all that belongs to it.
type designRead struct {
	design *design.Design // nil where it could not be read
	diags  []source.Diagnostic
	intent string // the path of the intent file; "" where there is none
	policy decided
	notes  []string
	unread []report.Unread // what kept it from being read
}

// load reads a netlist with all that belongs to it and judges it.
func (in inputs) load(ctx context.Context, path string, list []*rules.Rule, stage func(string)) loaded {
	d := in.read(ctx, path, list, stage)
	if d.design == nil {
		return loaded{notes: d.notes, unread: d.unread}
	}
	src := d.design.Src
	accepted, others, diags, unread := in.acceptances(src, path, d.design.Circuit.Cards.Pragmas, d.policy)
	if len(unread) > 0 {
		return loaded{notes: d.notes, unread: unread}
	}
	list, off := d.policy.Judged()
	how := []rules.Option{rules.Progress(func(done, of int) { stage(fmt.Sprintf("judging, %d of %d blocks done", done, of)) })}
	if !in.remedies {
		how = append(how, rules.NoRemedies)
	}
	if in.growth {
		how = append(how, rules.Growing)
	}
	drawn, variants, err := in.assembled(d.design)
	if err != nil {
		return loaded{notes: d.notes, unread: []report.Unread{{Path: shown(path), Message: err.Error()}}}
	}
	rep := rules.JudgeVariants(d.design, list, drawn, variants, how...)
	if rep.Stopped != nil {
		return loaded{unread: []report.Unread{{Path: shown(path), Message: rep.Stopped.Error()}}}
	}
	d.policy.house.Settle(rep)
	d.policy.house.Close()
	rep.Results = slices.Concat(rules.FromDiagnostics(append(d.diags, diags...)), rep.Results, off)
	d.notes = append(d.notes, judgedAs(shown(path), d.design, "judged", drawn, variants)...)
	out := loaded{netlist: &report.Netlist{Path: shown(path), Intent: d.intent, Report: rep, Variants: names(d.design, drawn, variants)}, rules: d.policy.rules, notes: d.notes, policy: d.policy, offered: accepted}
	rep.Results, out.idle = d.policy.Apply(policy.Case{Src: src, Results: rep.Results, Acceptances: accepted, Others: others, Today: in.today,
		Partly: !drawn || len(variants) < len(d.design.Variants())})
	return out
}

// read reads a netlist with all that belongs to it. Without its records or its intent it is left alone: what was said of
// it then would look like a pass. stage is told what is being done. A context that is done cuts it short.
func (in inputs) read(ctx context.Context, path string, list []*rules.Rule, stage func(string)) designRead {
	stage("reading")
	refused := func(err error) designRead {
		return designRead{unread: []report.Unread{{Path: shown(path), Message: err.Error()}}}
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
		FirstIsCard: in.firstLine == "card", GrammarOnly: in.grammarOnly, Limits: in.limits, Context: ctx})
	out := designRead{notes: remarks(set, shown(path), cards)}

	lib := &part.Library{}
	var said []source.Diagnostic
	var unread []report.Unread
	out.policy, said, unread = in.decide(set, path, list)
	diags = append(diags, said...)
	records, lost := in.records(set, path, out.policy)
	unread = append(unread, lost...)
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
		out.intent = file.path
		promised, found = intent.Read(set, set.Add(file.path, file.text, source.Span{}))
		if unusable(file.text) {
			unread = append(unread, spoilt(set, file.path, found))
		}
		diags = append(diags, found...)
	}
	if out.unread = unread; len(unread) > 0 {
		return out
	}

	stage("expanding")
	d, found := design.Bind(set, cards, lib, promised)
	out.design, out.diags = d, append(diags, found...)
	return out
}

// files are those that judging netlists reads, includes aside, as far as their names tell.
func (in inputs) files(netlists []string) []string {
	list := append(slices.Clone(netlists), in.intent, in.policy)
	list = slices.Concat(list, in.parts, in.house)
	for _, n := range netlists {
		for _, k := range []belonging{recordFiles, houseFiles} {
			beside, _ := filepath.Glob(filepath.Join(filepath.Dir(n), k.folder, "*"+k.ending))
			list = append(list, beside...)
		}
		list = append(list, upward(filepath.Dir(n)), filepath.Join(filepath.Dir(n), acceptedName), strings.TrimSuffix(n, filepath.Ext(n))+intentSuffix)
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

// dateFlag adds the flag that says which day it is.
func (in *inputs) dateFlag(c *cobra.Command) {
	in.today = time.Now()
	c.Flags().Var((*dayFlag)(&in.today), "as-of", "judge acceptances as on this `DATE`, such as 2027-06-30, and not as of today")
}
