package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/rules/policy"
)

// baselineFlags are what baseline write can be told.
type baselineFlags struct {
	owner, because, file string
	until                time.Time
	inputs               inputs
}

func (a *app) baseline() *cobra.Command {
	return group("baseline", "Take over today's findings as acceptances", a.baselineWrite())
}

func (a *app) baselineWrite() *cobra.Command {
	var f baselineFlags
	c := &cobra.Command{
		Use:   "write NETLIST...",
		Short: "Record today's findings as acceptances with their margins",
		Long: `Record today's findings as acceptances: each with the margin and the word it is accepted at, an owner and an end.
Afterwards lint reports what is new or worse.

They are added to accepted.toml beside the policy, or beside the netlist where there is no policy. What is accepted
already is not recorded again.`,
		Example: "  shuntwright baseline write --owner \"drive team\" --until 2027-06-30 boards/*.cir",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("baseline write: name at least one netlist")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, netlists []string) error {
			if err := a.record(f, netlists); err != nil {
				return fmt.Errorf("baseline write: %w", err)
			}
			return nil
		},
	}
	c.Flags().StringVar(&f.owner, "owner", "", "the `ROLE` that answers for what is accepted")
	c.Flags().Var((*dayFlag)(&f.until), "until", "the last `DATE` on which it is accepted, such as 2027-06-30")
	c.Flags().StringVar(&f.because, "because", "", "the `REASON`; otherwise that it was found when the baseline was written")
	c.Flags().StringVar(&f.file, "file", "", "add to this `FILE`; lint reads accepted.toml beside the netlist or the policy")
	f.inputs.flags(c)
	f.inputs.dateFlag(c)
	return c
}

// check refuses what no acceptance could say.
func (f *baselineFlags) check() error {
	switch {
	case strings.TrimSpace(f.owner) == "":
		return errors.New(`name who answers for it, as in --owner "drive team"`)
	case f.until.IsZero():
		return errors.New("name the last day, as in --until 2027-06-30")
	case f.inputs.today.UTC().Truncate(24 * time.Hour).After(f.until):
		return fmt.Errorf("--until %s is over", f.until.Format(time.DateOnly))
	}
	if strings.TrimSpace(f.because) == "" {
		f.because = "found when the baseline of " + f.inputs.today.UTC().Format(time.DateOnly) + " was written"
	}
	return f.inputs.check()
}

// A ledger is a file of acceptances that is added to.
type ledger struct {
	path          string
	text          string
	written, left int
}

// record writes the findings of netlists. Where one cannot be judged nothing is written: half a baseline looks like a
// whole one.
func (a *app) record(f baselineFlags, netlists []string) error {
	if err := f.check(); err != nil {
		return err
	}
	f.inputs.houses = &a.houses
	netlists, unread := globbed(netlists)
	judged := a.all(f.inputs, netlists)
	for _, l := range judged {
		unread = append(unread, l.unread...)
	}
	if len(unread) > 0 {
		said := map[report.Unread]bool{}
		for _, u := range unread {
			if !said[u] {
				said[u] = true
				a.cannot(u.String())
			}
		}
		a.cannot("baseline write: nothing was written")
		return nil
	}
	if f.file != "" && filepath.Base(f.file) != acceptedName {
		if err := spares("--file "+f.file, f.file, f.inputs.files(netlists)); err != nil {
			return err
		}
	}
	var ledgers []*ledger
	for i, l := range judged {
		to, err := f.ledger(&ledgers, netlists[i], l.policy)
		if err != nil {
			return err
		}
		b := policy.Baseline{Netlist: fromFolder(f.countedFrom(to.path, l.policy), netlists[i]), Because: f.because, Owner: f.owner, Until: f.until}
		text, written, left := l.policy.Record(l.netlist.Report.Design.Src, l.netlist.Report.Results, b)
		to.text += text
		to.written += written
		to.left += left
	}
	for _, to := range ledgers {
		if to.written > 0 {
			if err := save(to.path, []byte(strings.TrimLeft(to.text, "\n"))); err != nil {
				return err
			}
		}
		fmt.Fprintf(a.Out, "%s: %d findings accepted until %s; owner %s\n", report.Plain(shown(to.path)), to.written, f.until.Format(time.DateOnly), report.Plain(f.owner))
		if to.left > 0 {
			fmt.Fprintf(a.Out, "%s: %d findings left, which cannot be accepted\n", report.Plain(shown(to.path)), to.left)
		}
	}
	return nil
}

// countedFrom is the folder that the netlists in a file of acceptances count from.
func (f baselineFlags) countedFrom(path string, d decided) string {
	dir := filepath.Dir(path)
	return acceptanceRoot(dir, d, d.path != "" && same(dir, d.dir))
}

// ledger is the file that the findings of a netlist go to, with what it holds already.
func (f baselineFlags) ledger(list *[]*ledger, netlist string, d decided) (*ledger, error) {
	path := f.file
	switch {
	case path != "":
	case d.path != "":
		path = filepath.Join(d.dir, acceptedName)
	default:
		path = filepath.Join(filepath.Dir(netlist), acceptedName)
	}
	for _, l := range *list {
		if l.path == path {
			return l, nil
		}
	}
	text, err := readNamed(path, f.inputs.fileBytes())
	switch {
	case errors.Is(err, errMissing), errors.Is(err, errEmpty):
	case err != nil:
		return nil, fmt.Errorf("%s: %w", shown(path), err)
	case unusable(text):
		return nil, fmt.Errorf("%s: not TOML; put it right before more is added", shown(path))
	}
	l := &ledger{path: path, text: string(text)}
	if l.text != "" && !strings.HasSuffix(l.text, "\n") {
		l.text += "\n"
	}
	*list = append(*list, l)
	return l, nil
}
