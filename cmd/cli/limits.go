package cli

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/parse"
)

// An allowance is what a command that reads netlists may spend on each of them.
type allowance struct {
	limits  parse.Limits
	timeout time.Duration // 0: none
}

// fileBytes is how long a file that is read may be.
func (a allowance) fileBytes() int { return a.limits.OrStandard().FileBytes }

// flags adds the flags of an allowance to a command, and the list of limits to its help.
func (a *allowance) flags(c *cobra.Command) {
	c.Flags().Var((*limitFlag)(&a.limits), "limit", "move one of the limits above, as `NAME=N`; may be repeated")
	c.Flags().Var((*timeoutFlag)(&a.timeout), "timeout", "leave a netlist alone that takes longer than this `DURATION`, as in 30s or 5m; 0: none")
	var list strings.Builder
	w := tabwriter.NewWriter(&list, 0, 0, 2, ' ', 0)
	for _, m := range parse.AllLimits {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", m.Name, amount(m, m.Value(parse.StandardLimits)), m.What)
	}
	w.Flush()
	c.Long += "\n\nReading and expanding are bounded. --limit NAME=N moves one of these limits from its standard value; N may end in K, M\n" +
		"or G for thousands, millions and so on, a number of bytes also in KiB, MiB or GiB:\n\n" + strings.TrimRight(list.String(), "\n")
}

func amount(m parse.Limit, n int) string {
	if m.Bytes {
		return parse.Bytes(n)
	}
	return strconv.Itoa(n)
}

// A limitFlag is the value of --limit.
type limitFlag parse.Limits

func (*limitFlag) Type() string   { return "NAME=N" }
func (*limitFlag) String() string { return "" }

// Set reads one NAME=N.
func (l *limitFlag) Set(s string) error {
	name, value, ok := strings.Cut(s, "=")
	if !ok {
		return errors.New("write NAME=N, as in elements=50M")
	}
	var known []string
	for _, m := range parse.AllLimits {
		if m.Name != name {
			known = append(known, m.Name)
			continue
		}
		n, err := count(value, m.Bytes)
		if err == nil && n > m.Most {
			err = fmt.Errorf("%s can be at most %s", m.Name, amount(m, m.Most))
		}
		if err == nil {
			m.Set((*parse.Limits)(l), n)
		}
		return err
	}
	return unknownOf("limit", name, known)
}

// unknownOf is unknown with the whole list even where one of it is near.
func unknownOf(what, word string, known []string) error {
	err := unknown(what, word, known)
	if !strings.Contains(err.Error(), "there are ") {
		err = fmt.Errorf("%w there are %s", err, strings.Join(known, ", "))
	}
	return err
}

// A unit stands behind a number.
type unit struct {
	name string
	size int
}

var (
	thousands = []unit{{"K", 1e3}, {"M", 1e6}, {"G", 1e9}}
	ofBytes   = append([]unit{{"KiB", 1 << 10}, {"MiB", 1 << 20}, {"GiB", 1 << 30}}, thousands...)
)

// count reads a whole number above 0 with a suffix.
func count(s string, bytes bool) (int, error) {
	units, hint := thousands, "write a whole number above 0, with K, M or G behind it if you like"
	if bytes {
		units, hint = ofBytes, hint+", or KiB, MiB or GiB"
	}
	digits, size := s, 1
	for _, u := range units {
		if rest, ok := strings.CutSuffix(s, u.name); ok {
			digits, size = rest, u.size
			break
		}
	}
	n, err := strconv.ParseUint(digits, 10, 63)
	if err != nil && !errors.Is(err, strconv.ErrRange) || err == nil && n == 0 {
		return 0, errors.New(hint)
	}
	if err != nil || n > uint64(math.MaxInt/size) {
		return math.MaxInt, nil // the most that a limit may be is named by whoever knows the limit
	}
	return int(n) * size, nil
}

// A timeoutFlag is the value of --timeout.
type timeoutFlag time.Duration

func (*timeoutFlag) Type() string     { return "DURATION" }
func (t *timeoutFlag) String() string { return time.Duration(*t).String() }

// Set reads a duration.
func (t *timeoutFlag) Set(s string) error {
	d, err := time.ParseDuration(s)
	if err != nil || d < 0 {
		return errors.New("write a duration with its unit, as in 30s or 5m, or 0 for none")
	}
	*t = timeoutFlag(d)
	return nil
}
