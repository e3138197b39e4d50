package cli

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/policy"
)

// lintFlags are what lint can be told.
type lintFlags struct {
	format, color, failOn string
	failOnGiven           bool // on the command line, which comes before the policy
	out                   []string
	margins, ledger       bool
	inputs                inputs
}

func (a *app) lint() *cobra.Command {
	var f lintFlags
	c := &cobra.Command{
		Use:   "lint NETLIST...",
		Short: "Judge netlists and print what was found",
		Long: `Judge netlists and print what was found.

A netlist may be a glob, in which ** stands for any folders; quote it where your shell would read it. All are judged at the
same time and printed in the order in which they were named, those of a glob in that of their names.

A part record is looked for in parts/*.toml beside the netlist, house rules in house/*.star there, the intent in a file of
the netlist's name with its last extension replaced by .intent.toml. The policy is the first shuntwright.toml upward from the
netlist; acceptances stand in comment cards, in accepted.toml beside the netlist and in the one beside the policy.

The exit code is 0 when nothing was found that --fail-on names, 1 when something was, 2 when something could not be
judged. A pass is evidence for review, not a safety certificate.`,
		Example: "  shuntwright lint winch.cir\n  shuntwright lint --fail-on error,open --out sarif:lint.sarif boards/*.cir",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("lint: name at least one netlist")
			}
			return nil
		},
		RunE: func(c *cobra.Command, netlists []string) error {
			f.failOnGiven = c.Flags().Changed("fail-on")
			return a.judge(f, netlists)
		},
	}
	c.Flags().StringVar(&f.format, "format", "text", "form of the output: text, json, sarif or annotations")
	c.Flags().StringArrayVar(&f.out, "out", nil, "also write `FORMAT:FILE`; may be repeated")
	c.Flags().StringVar(&f.failOn, "fail-on", "error", "what makes the exit code 1: a comma `LIST` of error, warning, note, review, open; or never")
	c.Flags().BoolVar(&f.margins, "margins", false, "list the margin of every judged rule, the tightest first, and what breaks first as current, supply, temperature or common mode grows")
	c.Flags().BoolVar(&f.ledger, "ledger", false, "list what the results rest on that nobody declared, and which answers would settle most")
	c.Flags().BoolVar(&f.inputs.remedies, "remedies", true, "find what would cure each failure, and judge it again")
	f.inputs.flags(c)
	f.inputs.dateFlag(c)
	c.Flags().StringVar(&f.inputs.variants, "variant", "all", "judge this assembly variant `NAME` of intent, or a comma list of them; drawn for the drawing alone; all for it and every variant")
	c.Flags().StringVar(&f.color, "color", "auto", "colour in text: auto, always or never")
	return c
}

// judge reads, judges and prints every netlist. One that cannot be read does not keep the others from it.
func (a *app) judge(f lintFlags, netlists []string) error {
	color, err := a.colored(f.color)
	if err != nil {
		return fmt.Errorf("lint: %w", err)
	}
	text := report.TextOptions{Color: color, Margins: f.margins}
	write, err := writer(f.format, text)
	if err != nil {
		return fmt.Errorf("lint: %w", err)
	}
	if err := f.inputs.check(); err != nil {
		return fmt.Errorf("lint: %w", err)
	}
	limit, err := policy.ReadFailOn("--fail-on", f.failOn)
	if err != nil {
		return fmt.Errorf("lint: %w", err)
	}
	netlists, unread := globbed(netlists)
	out, err := outFiles(f.out, f.inputs.files(netlists), text)
	if err != nil {
		return fmt.Errorf("lint: %w", err)
	}

	f.inputs.houses = &a.houses
	f.inputs.growth = f.margins
	run := &report.Run{Version: version(), Rules: slices.Clone(a.rules), Unread: unread, Ledger: f.ledger}
	for _, u := range unread {
		a.cannot(u.String())
	}
	for _, l := range a.all(f.inputs, netlists) {
		for _, line := range l.notes {
			fmt.Fprintln(a.Err, report.Plain(line))
		}
		for _, u := range l.unread {
			if !slices.Contains(run.Unread, u) {
				run.Unread = append(run.Unread, u)
				a.cannot(u.String())
			}
		}
		if l.netlist == nil {
			continue
		}
		for _, r := range l.rules {
			if !slices.ContainsFunc(run.Rules, func(o *rules.Rule) bool { return o.ID == r.ID }) {
				run.Rules = append(run.Rules, r)
			}
		}
		run.Netlists = append(run.Netlists, *l.netlist)
		limit := limit
		if list, _ := l.policy.FailOn(); list != "" && !f.failOnGiven {
			limit, _ = policy.ReadFailOn("fail-on", list) // read once already
		}
		for _, r := range l.netlist.Report.Results {
			if limit.Breach(r) {
				a.exit = max(a.exit, ExitBreach)
			}
		}
	}
	if err := write(a.Out, run); err != nil {
		return err
	}
	for _, o := range out {
		for _, n := range run.Netlists { // what the netlist and the policy name is known only now
			if err := spares("--out "+o.path, o.path, n.Report.Design.Src.Paths()); err != nil {
				return err
			}
		}
		if err := o.save(run); err != nil {
			return err
		}
	}
	return nil
}
