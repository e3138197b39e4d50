package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/envelope"
)

func (a *app) envelopes() *cobra.Command {
	format := "text"
	c := &cobra.Command{
		Use:   "envelopes [NAME]",
		Short: "List the supply envelopes of published standards, or show one",
		Long: `List the supply envelopes of published standards, or show one.

NAME is one of the list, or the beginning of several; a battery pack may have any number of cells in series, as in "Li-ion 7s".
Intent names one for a rail, and which of its events the board must
survive:

  rails.VBAT = { envelope = "ISO 16750-2:2023 12 V C", events = ["jump start", "reversed 2", "load dump B 35 V"] }

An operating or survival range beside it comes before what the envelope says. Without events, what the rail survives is
undeclared. An event whose source has a resistance counts with the level that it has without a load. The last column says how
far a row was checked against its source; a verdict that rests on one from memory is never better than review.`,
		Example: "  shuntwright envelopes\n  shuntwright envelopes \"ISO 16750-2:2023 12 V C\"\n  shuntwright envelopes --format json \"USB PD\"",
		Args:    atMostOne("an envelope"),
		RunE: func(_ *cobra.Command, args []string) error {
			list, pulses, err := chosen(args)
			if err != nil {
				return err
			}
			switch format {
			case "text":
				return envelopesText(a.Out, list, pulses, len(args) > 0 && len(list)+len(pulses) == 1)
			case "json":
				return report.EnvelopesJSON(a.Out, list, pulses)
			}
			return fmt.Errorf("envelopes: %w", unknown("format", format, []string{"text", "json"}))
		},
	}
	c.Flags().StringVar(&format, "format", "text", "form of the output: text or json")
	return c
}

// chosen are the envelopes and pulses of a name, or of those that begin with it; all where there is none.
func chosen(args []string) (list []*envelope.Envelope, pulses []*envelope.Pulse, err error) {
	start := ""
	if len(args) > 0 {
		start = strings.ToLower(args[0])
		if e := envelope.Find(args[0]); e != nil {
			return []*envelope.Envelope{e}, nil, nil
		}
		if p := envelope.FindPulse(args[0]); p != nil {
			return nil, []*envelope.Pulse{p}, nil
		}
	}
	for name := range envelope.Names() {
		if strings.HasPrefix(strings.ToLower(name), start) {
			list = append(list, envelope.Find(name))
		}
	}
	for i := range envelope.Pulses {
		if p := &envelope.Pulses[i]; strings.HasPrefix(strings.ToLower(p.Name), start) {
			pulses = append(pulses, p)
		}
	}
	if len(list)+len(pulses) > 0 {
		return list, pulses, nil
	}
	near, others := envelope.Near(args[0])
	switch {
	case near != "":
		return nil, nil, fmt.Errorf("envelopes: no envelope %q; did you mean %q?", args[0], near)
	case others != nil:
		return nil, nil, fmt.Errorf("envelopes: no envelope %q; near are %s", args[0], strings.Join(others, ", "))
	}
	return nil, nil, fmt.Errorf("envelopes: no envelope %q; without a name all are listed", args[0])
}

// envelopesText lists envelopes and pulses, one a line, and the events of one that stands alone.
func envelopesText(out io.Writer, list []*envelope.Envelope, pulses []*envelope.Pulse, alone bool) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, e := range list {
		fmt.Fprintf(w, "%s\t%s .. %s\t%s, %s\t%s\n", e.Name, volts(e.Low), volts(e.High), e.Source, e.Clause, e.Status)
		for _, ev := range e.Events {
			if !alone {
				break
			}
			fmt.Fprintf(w, "  event %s\t%s\t%s\t%s\n", ev.Name, levels(ev), ev.Clause, ev.Status)
		}
	}
	if len(list) > 0 && len(pulses) > 0 {
		if err := w.Flush(); err != nil {
			return err
		}
		fmt.Fprintln(out)
	}
	for _, p := range pulses {
		fmt.Fprintf(w, "%s\t%+g V behind %s, %s\t%s, %s\t%s\n", p.Name, p.Level, ohms(p.Resistance), p.Lasts, p.Source, p.Clause, p.Status)
	}
	return w.Flush()
}

// levels words what an event does.
func levels(ev envelope.Event) string {
	text := volts(ev.Low)
	if ev.High != ev.Low {
		text += " .. " + volts(ev.High)
	}
	if ev.Resistance > 0 {
		text += " behind " + ohms([2]float64{ev.Resistance, ev.Resistance})
	}
	if ev.Lasts != "" {
		text += " for " + ev.Lasts
	}
	return text
}

func volts(v float64) string { return fmt.Sprintf("%.6g V", v) }

func ohms(r [2]float64) string {
	if r[0] == r[1] {
		return fmt.Sprintf("%g ohm", r[0])
	}
	return fmt.Sprintf("%g ohm to %g ohm", r[0], r[1])
}
