package cli

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

func (a *app) config() *cobra.Command {
	return group("config", "Show the settings that count and where each comes from", a.configExplain())
}

func (a *app) configExplain() *cobra.Command {
	var in inputs
	var failOn string
	c := &cobra.Command{
		Use:   "explain [NETLIST]",
		Short: "Show each effective value and where it comes from",
		Long: `Show each effective value and where it comes from: a flag, the policy with its line, or the default.

Without a netlist the policy is looked for upward from the working folder.`,
		Args: atMostOne("a netlist"),
		RunE: func(c *cobra.Command, args []string) error {
			netlist := "netlist.cir"
			if len(args) == 1 {
				netlist = args[0]
				if _, err := os.Stat(netlist); err != nil {
					return fmt.Errorf("explain: %s: %w", netlist, refusal(err))
				}
			}
			if !c.Flags().Changed("fail-on") {
				failOn = ""
			}
			return a.settings(in, netlist, failOn)
		},
	}
	c.Flags().StringVar(&in.policy, "policy", "", "policy from this `FILE` and not from the shuntwright.toml found upward from the netlist")
	c.Flags().StringArrayVar(&in.parts, "parts", nil, "as for lint: part records from this file, folder or glob `PATH`; may be repeated")
	c.Flags().StringArrayVar(&in.house, "house", nil, "as for lint: house rules from this file, folder or glob `PATH`; may be repeated")
	c.Flags().StringVar(&failOn, "fail-on", "error", "as for lint: a comma `LIST`")
	return c
}

// settings prints what counts for one netlist.
func (a *app) settings(in inputs, netlist, failOn string) error {
	set := source.NewSet()
	in.houses = &a.houses
	d, diags, unread := in.decide(set, netlist, a.rules)
	for _, u := range unread {
		a.cannot(u.String())
	}
	if len(unread) > 0 {
		return nil
	}
	for _, r := range diags {
		p := set.Place(r.At)
		a.cannot(fmt.Sprintf("%s:%d:%d: error: %s: %s", p.Path, p.Line, p.Column, r.Rule, r.Text()))
	}

	w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	row := func(key, value, from string) {
		fmt.Fprintf(w, "%s\t%s\t%s\n", report.Plain(key), report.Plain(value), report.Plain(from))
	}
	at := func(span source.Span, otherwise string) string {
		if span.None() {
			return otherwise
		}
		p := set.Place(span)
		return fmt.Sprintf("%s:%d", p.Path, p.Line)
	}
	key := func(path ...string) string { return at(d.At(path...), "default") }

	switch {
	case d.given:
		row("policy", d.path, "--policy")
	case d.path != "":
		row("policy", d.path, "upward from "+shown(filepath.Dir(netlist)))
	default:
		row("policy", "none", "no "+policyName+" upward from "+shown(filepath.Dir(netlist)))
	}
	n, where := d.RuleSet()
	row("rule-set", strconv.Itoa(n), at(where, "default, the newest"))
	said, where := d.FailOn()
	switch {
	case failOn != "":
		row("fail-on", failOn, "--fail-on")
	default:
		row("fail-on", cmp.Or(said, "error"), at(where, "default"))
	}
	explainFiles(row, at, netlist, d, recordFiles, in.parts)
	explainFiles(row, at, netlist, d, houseFiles, in.house)
	for i, dir := range in.acceptanceFolders(netlist, d) {
		from := "beside the netlist"
		if i == 0 && d.path != "" {
			from = "beside the policy"
		}
		path := shown(filepath.Join(dir, acceptedName))
		if !exists(filepath.Join(dir, acceptedName)) {
			from += ", where there is none"
		}
		row("accepted", path, from)
	}
	until := "optional"
	if d.NeedsEnd() {
		until = "required"
	}
	row("acceptances.until", until, key("acceptances", "until"))
	row("acceptances.never", cmp.Or(strings.Join(d.Never(), ", "), "-"), key("acceptances", "never"))
	reviewed := "allowed"
	if d.RefusesReviewed() {
		reviewed = "refused"
	}
	row("acceptances.under-review", reviewed, key("acceptances", "under-review"))

	off := map[string]bool{}
	for _, o := range d.Off() {
		off[o.Rule] = true
		row("off."+o.Rule, o.Reason, at(o.At, "default"))
	}
	ids := []string{}
	for _, r := range d.rules {
		ids = append(ids, r.ID)
	}
	for _, t := range rules.Troubles {
		if t.Kind == rules.KindFail {
			ids = append(ids, t.ID)
		}
	}
	for _, id := range ids {
		if level, where := d.Level(id); !off[id] {
			row("levels."+id, level.String(), at(where, "default"))
		}
	}
	return w.Flush()
}

// explainFiles prints where the files of a kind come from: those of named, which a flag gives, else those beside the netlist and
// those that the policy names.
func explainFiles(row func(key, value, from string), at func(source.Span, string) string, netlist string, d decided, kind belonging, named []string) {
	for _, p := range named {
		row(kind.folder, p, kind.flag)
	}
	if named != nil {
		return
	}
	row(kind.folder, shown(filepath.Join(filepath.Dir(netlist), kind.folder, "*"+kind.ending)), "default, beside the netlist")
	paths, spans := d.named(kind)
	for i, p := range paths {
		row(kind.folder, shown(filepath.Join(d.dir, filepath.FromSlash(p))), at(spans[i], ""))
	}
}
