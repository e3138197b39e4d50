package cli

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

func (a *app) explain() *cobra.Command {
	in := inputs{}
	c := &cobra.Command{
		Use:   "rules [ID]",
		Short: "List the rules, or explain one",
		Long: `List the rules, or explain one.

House rules are those that --house names, else those in house/*.star below the working folder and those that the policy of
that folder names.`,
		Args: atMostOne("a rule"),
		RunE: func(_ *cobra.Command, args []string) error {
			list, err := a.withHouse(in)
			switch {
			case err != nil:
				return err
			case len(args) == 0:
				return a.list(list)
			}
			return a.page(list, args[0])
		},
	}
	c.Flags().StringArrayVar(&in.house, "house", nil, "house rules from this file, folder or glob `PATH`; may be repeated")
	c.AddCommand(a.testRules(), a.newRule())
	return c
}

// withHouse is all rules, those of the house in the working folder among them. What is wrong with a file of them is said.
func (a *app) withHouse(in inputs) ([]*rules.Rule, error) {
	in.houses = &a.houses
	d, _, unread := in.decide(source.NewSet(), "netlist in the working folder", a.rules)
	for _, u := range unread {
		return nil, fmt.Errorf("rules: %s", u)
	}
	for _, t := range d.house.Troubles() {
		a.cannot(t)
	}
	return d.rules, nil
}

func (a *app) list(list []*rules.Rule) error {
	w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	sorted := slices.SortedStableFunc(slices.Values(list), func(x, y *rules.Rule) int { return strings.Compare(x.ID, y.ID) })
	for _, r := range sorted {
		fmt.Fprintf(w, "%s\t%s\t%s\n", report.Plain(r.ID), r.Level, report.Plain(r.Title))
	}
	return w.Flush()
}

func (a *app) page(list []*rules.Rule, id string) error {
	if i := slices.IndexFunc(list, func(r *rules.Rule) bool { return r.ID == id }); i >= 0 {
		for line := range strings.SplitSeq(strings.TrimSuffix(list[i].Page, "\n"), "\n") {
			if strings.HasPrefix(id, "house/") { // a stranger may have written it
				line = report.Plain(line)
			}
			fmt.Fprintln(a.Out, line)
		}
		return nil
	}
	for _, t := range rules.Troubles {
		if t.ID == id {
			_, err := fmt.Fprintf(a.Out, "%s: %s. This is said of the inputs; no rule judges it.\n", t.ID, t.Title)
			return err
		}
	}
	var known []string
	for _, r := range list {
		known = append(known, r.ID)
	}
	return unknown("rule", id, known)
}

func atMostOne(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > 1 {
			return fmt.Errorf("%s: name at most one: %s", c.Name(), what)
		}
		return nil
	}
}
