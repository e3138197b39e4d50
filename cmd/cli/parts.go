package cli

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
)

func (a *app) parts() *cobra.Command {
	return group("parts", "Explain, list, show and check part records", a.explainParts(), a.listParts(), a.showPart(), a.checkParts())
}

func (a *app) explainParts() *cobra.Command {
	format := "text"
	c := &cobra.Command{
		Use:   "explain [ROLE]",
		Short: "Explain what a part record may say, by the role of the part",
		Long: `Explain what a part record may say, by the role of the part. Without a role the roles are listed.

Guaranteed and typical numbers are kept apart: a bare value is a limit that the data sheet guarantees, and what it only calls
typical stands in a field of its own whose key ends in typical. A field that a part of the role does not have is an error.

` + shapes,
		Example: "  shuntwright parts explain\n  shuntwright parts explain sense-amplifier\n  shuntwright parts explain --format json clamp",
		Args:    atMostOne("a role"),
		RunE: func(_ *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return fmt.Errorf("parts explain: %w", unknown("format", format, []string{"text", "json"}))
			}
			if len(args) == 0 {
				if format == "json" {
					return report.FieldsJSON(a.Out, part.RoleNames(), part.Fields)
				}
				return a.roles()
			}
			role := strings.ToLower(args[0])
			if !slices.Contains(part.RoleNames(), role) {
				return fmt.Errorf("parts explain: %w", unknown("role", args[0], part.RoleNames()))
			}
			if format == "json" {
				return report.FieldsJSON(a.Out, []string{role}, part.FieldsOf(role))
			}
			fmt.Fprintf(a.Out, "%s: %s\n", role, part.RoleDoc(role))
			if pins := part.RolePins(role); pins != nil {
				fmt.Fprintf(a.Out, "pins: %s\n", strings.Join(pins, ", "))
			}
			fmt.Fprintln(a.Out)
			return fieldsText(a.Out, part.FieldsOf(role))
		},
	}
	c.Flags().StringVar(&format, "format", "text", "form of the output: text or json")
	return c
}

// roles lists the roles of parts.
func (a *app) roles() error {
	w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
	for _, role := range part.RoleNames() {
		fmt.Fprintf(w, "%s\t%d fields\t%s\n", role, len(part.FieldsOf(role)), part.RoleDoc(role))
	}
	return w.Flush()
}

// library reads part records: those that paths name, else those in parts below the working folder and those that the policy
// of that folder names.
func (a *app) library(paths []string) (set *source.Set, lib *part.Library, diags []source.Diagnostic, err error) {
	in := inputs{}
	if len(paths) > 0 {
		in.parts = paths
	}
	set, lib = source.NewSet(), &part.Library{}
	const netlist = "netlist in the working folder"
	d, _, unread := in.decide(set, netlist, a.rules)
	files, lost := in.records(set, netlist, d)
	for _, u := range append(unread, lost...) {
		return nil, nil, nil, fmt.Errorf("%s", u)
	}
	if len(files) == 0 {
		return nil, nil, nil, fmt.Errorf("there are no part records in parts/*.toml; name a file or a folder")
	}
	for _, f := range files {
		diags = append(diags, lib.Read(set, set.Add(f.path, f.text, source.Span{}))...)
	}
	return set, lib, diags, nil
}

func (a *app) listParts() *cobra.Command {
	return &cobra.Command{
		Use:     "list [PATH...]",
		Short:   "List part records, those in parts/*.toml where no file, folder or glob is named",
		Example: "  shuntwright parts list\n  shuntwright parts list library",
		RunE: func(_ *cobra.Command, args []string) error {
			set, lib, diags, err := a.library(args)
			if err != nil {
				return fmt.Errorf("parts list: %w", err)
			}
			w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
			for _, r := range lib.Records() {
				at := set.Place(r.At())
				fmt.Fprintf(w, "%s\t%s\t%s:%d\n", report.Plain(r.Name()), report.Plain(r.Role()), report.Plain(at.Path), at.Line)
			}
			a.troubles(set, diags)
			return w.Flush()
		},
	}
}

func (a *app) showPart() *cobra.Command {
	return &cobra.Command{
		Use:     "show NAME [PATH...]",
		Short:   "Show one part record with its gain code applied, and what each field means",
		Example: "  shuntwright parts show ferry-sense-32",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fmt.Errorf("parts show: name a part")
			}
			set, lib, diags, err := a.library(args[1:])
			if err != nil {
				return fmt.Errorf("parts show: %w", err)
			}
			r, tie := lib.Match(args[0])
			if r == nil {
				var known []string
				for _, r := range lib.Records() {
					known = append(known, r.Name())
				}
				if tie != nil {
					return fmt.Errorf("parts show: %s", tie.Text())
				}
				return fmt.Errorf("parts show: %w", unknown("part record", args[0], known))
			}
			w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
			for e := range r.Entries() {
				at := set.Place(e.At)
				value := e.Text
				if e.Names != nil {
					value = strings.Join(e.Names, ", ")
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s:%d\n", report.Plain(e.Key()), report.Plain(strings.Join(strings.Fields(value), " ")), e.Field.Doc, report.Plain(at.Path), at.Line)
			}
			a.troubles(set, diags)
			return w.Flush()
		},
	}
}

func (a *app) checkParts() *cobra.Command {
	return &cobra.Command{
		Use:   "check [PATH...]",
		Short: "Check part records, those in parts/*.toml where no file, folder or glob is named",
		Long: `Check part records, those in parts/*.toml where no file, folder or glob is named.

The exit code is 0 where nothing is wrong with them, 1 where something is, 2 where one cannot be read.`,
		Example: "  shuntwright parts check\n  shuntwright parts check library/*.toml",
		RunE: func(_ *cobra.Command, args []string) error {
			set, lib, diags, err := a.library(args)
			if err != nil {
				return fmt.Errorf("parts check: %w", err)
			}
			a.troubles(set, diags)
			if len(diags) > 0 {
				a.exit = max(a.exit, ExitBreach)
			}
			_, err = fmt.Fprintf(a.Out, "%d part records, %d troubles\n", len(lib.Records()), len(diags))
			return err
		},
	}
}

// troubles says on the error output what is wrong with inputs.
func (a *app) troubles(set *source.Set, diags []source.Diagnostic) {
	for _, d := range diags {
		at := set.Place(d.At)
		fmt.Fprintln(a.Err, report.Plain(fmt.Sprintf("%s:%d:%d: error: %s: %s", at.Path, at.Line, at.Column, d.Rule, d.Text())))
	}
}

func (a *app) intent() *cobra.Command {
	format := "text"
	explain := &cobra.Command{
		Use:   "explain [KEY]",
		Short: "Explain what intent may say, or what it may say below a key",
		Long: `Explain what intent may say, or what it may say below a key such as rails.

` + shapes,
		Example: "  shuntwright intent explain\n  shuntwright intent explain rails",
		Args:    atMostOne("a key"),
		RunE: func(_ *cobra.Command, args []string) error {
			list := intent.Fields
			if len(args) > 0 {
				list = slices.DeleteFunc(slices.Clone(list), func(f field.Field) bool { return !leadsTo(args[0], f.Key) })
			}
			switch {
			case len(list) == 0:
				var known []string
				for _, f := range intent.Fields {
					if first, _, _ := strings.Cut(f.Key, "."); !slices.Contains(known, first) {
						known = append(known, first)
					}
				}
				return fmt.Errorf("intent explain: %w", unknown("key", args[0], known))
			case format == "json":
				return report.FieldsJSON(a.Out, nil, list)
			case format != "text":
				return fmt.Errorf("intent explain: %w", unknown("format", format, []string{"text", "json"}))
			}
			return fieldsText(a.Out, list)
		},
	}
	explain.Flags().StringVar(&format, "format", "text", "form of the output: text or json")
	return group("intent", "Explain what intent may say", explain)
}

// leadsTo tells that a key is another one, or below it; a star stands for any name.
func leadsTo(top, key string) bool {
	parts, want := strings.Split(key, "."), strings.Split(top, ".")
	if len(want) > len(parts) {
		return false
	}
	for i, w := range want {
		if parts[i] != "*" && !strings.EqualFold(parts[i], w) {
			return false
		}
	}
	return true
}
