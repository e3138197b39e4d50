package cli

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/rules"
)

func (a *app) explain() *cobra.Command {
	return &cobra.Command{
		Use:   "rules [ID]",
		Short: "List the rules, or explain one",
		Args:  atMostOne("a rule"),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.list()
			}
			return a.page(args[0])
		},
	}
}

func (a *app) list() error {
	w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	sorted := slices.SortedStableFunc(slices.Values(a.rules), func(x, y *rules.Rule) int { return strings.Compare(x.ID, y.ID) })
	for _, r := range sorted {
		fmt.Fprintf(w, "%s\t%s\t%s\n", report.Plain(r.ID), r.Level, report.Plain(r.Title))
	}
	return w.Flush()
}

func (a *app) page(id string) error {
	if i := slices.IndexFunc(a.rules, func(r *rules.Rule) bool { return r.ID == id }); i >= 0 {
		_, err := fmt.Fprintln(a.Out, strings.TrimSuffix(a.rules[i].Page, "\n"))
		return err
	}
	for _, t := range rules.Troubles {
		if t.ID == id {
			_, err := fmt.Fprintf(a.Out, "%s: %s. This is said of the inputs; no rule judges it.\n", t.ID, t.Title)
			return err
		}
	}
	var known []string
	for _, r := range a.rules {
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
