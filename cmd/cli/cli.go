// Package cli is the whole command line as a function, so that a build with further rules is a dozen lines.
package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
)

// What the process answers to whoever called it. The largest one counts.
const (
	ExitClean  = 0 // nothing at or above what --fail-on names
	ExitBreach = 1 // something is
	ExitCannot = 2 // something could not be judged or done: usage, an input that cannot be read
)

// An app is one run of the command line.
type app struct {
	Streams
	rules  []*rules.Rule
	houses houses
	exit   int
}

// Main runs the command line with these rules and returns the exit code. Started with the one word house.Word it is the
// process in which house rules run, for the linter that started it.
func Main(args []string, streams Streams, rs ...*rules.Rule) int {
	if len(args) == 1 && args[0] == house.Word {
		return house.Child(streams.In, streams.Out)
	}
	a := &app{Streams: streams, rules: rs}
	defer a.houses.close()
	root := a.root()
	root.SetArgs(args)
	if err := root.Execute(); err != nil {
		a.cannot("shuntwright: " + err.Error())
	}
	return a.exit
}

// cannot says in one line what could not be done.
func (a *app) cannot(line string) {
	fmt.Fprintln(a.Err, report.Plain(line))
	a.exit = ExitCannot
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:           "shuntwright COMMAND",
		Short:         "Lint netlists that carry current-sense amplifiers",
		Version:       version(),
		Args:          cobra.ArbitraryArgs,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.RunE = func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return fmt.Errorf("name a command: %s (--help explains them)", strings.Join(commands(root), ", "))
		}
		return unknown("command", args[0], commands(root))
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(&cobra.Command{
		Use: "help [COMMAND]", Hidden: true, Args: atMostOne("a command"),
		RunE: func(_ *cobra.Command, args []string) error {
			about, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return unknown("command", args[0], commands(root))
			}
			return about.Help()
		},
	})
	root.SetVersionTemplate("{{.Name}} {{.Version}}\n")
	root.SetIn(a.In)
	root.SetOut(a.Out)
	root.SetErr(a.Err)
	root.SetFlagErrorFunc(flagTrouble)
	root.AddCommand(a.lint(), a.bounds(), a.explain(), a.envelopes(), a.parts(), a.intent(), a.baseline(), a.config())
	return root
}

func commands(root *cobra.Command) (names []string) {
	for _, c := range root.Commands() {
		if !c.Hidden {
			names = append(names, c.Name())
		}
	}
	return names
}

// group is a command that only holds others.
func group(use, short string, sub ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Args: cobra.ArbitraryArgs}
	c.RunE = func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return fmt.Errorf("%s: name what to do: %s", use, strings.Join(commands(c), ", "))
		}
		return unknown("command "+use, args[0], commands(c))
	}
	c.AddCommand(sub...)
	return c
}

// unknown says that a word is none of those that may stand there: which one is near, else which there are.
func unknown(what, word string, known []string) error {
	if near := source.Nearest(word, slices.Values(known)); near != "" {
		return fmt.Errorf("no %s %q; did you mean %q?", what, word, near)
	}
	return fmt.Errorf("no %s %q; there are %s", what, word, strings.Join(known, ", "))
}

// flagTrouble puts what is wrong with a flag in one line.
func flagTrouble(c *cobra.Command, err error) error {
	var missing *pflag.NotExistError
	if !errors.As(err, &missing) || missing.GetSpecifiedShortnames() != "" {
		return fmt.Errorf("%s: %w", c.Name(), err)
	}
	var known []string
	c.Flags().VisitAll(func(f *pflag.Flag) { known = append(known, "--"+f.Name) })
	return fmt.Errorf("%s: %w", c.Name(), unknown("flag", "--"+missing.GetSpecifiedName(), known))
}
