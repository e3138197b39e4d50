// Package envelope holds the supply envelopes of published standards: what a rail of a kind stays in while it works, and
// the events that may come. The rows are data without logic; each says where it comes from and how far that was checked.
package envelope

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Status is how far a row was checked against what it names as its source.
type Status uint8

// The statuses, from the best on.
const (
	Primary   Status = iota // read in the standard itself
	Secondary               // read in a text that quotes the standard
	Derived                 // worked out from numbers that were read
	Memory                  // not confirmed: nothing that rests on it passes or fails by it
)

// String is the status in the words that people read.
func (s Status) String() string {
	return [...]string{"read in the primary", "secondary", "derived", "from memory"}[s]
}

// An Envelope is what a supply stays in, in volts.
type Envelope struct {
	Name      string
	Source    string // the standard with its edition
	Clause    string
	Status    Status
	Low, High float64 // while it works
	Nominal   float64 // 0: the middle
	Events    []Event
}

// Middle is the voltage that is meant where one is: the nominal one, else the middle of the range.
func (e *Envelope) Middle() float64 {
	if e.Nominal != 0 {
		return e.Nominal
	}
	return (e.Low + e.High) / 2
}

// An Event is what may happen to a supply beside its working range: the levels that it goes to, in volts.
type Event struct {
	Name       string
	Low, High  float64
	Lasts      string
	Resistance float64 // of what makes it, in ohm: the level is the one without a load; 0: not told
	Clause     string
	Status     Status
}

// Event is the event of a name, letter case aside.
func (e *Envelope) Event(name string) (ev Event, ok bool) {
	i := slices.IndexFunc(e.Events, func(ev Event) bool { return strings.EqualFold(ev.Name, name) })
	if i < 0 {
		return ev, false
	}
	return e.Events[i], true
}

// EventNames are the names of the events, in their order.
func (e *Envelope) EventNames() (names []string) {
	for _, ev := range e.Events {
		names = append(names, ev.Name)
	}
	return names
}

// A Chemistry is a kind of cell: the voltages of one, in volts.
type Chemistry struct {
	Name, Source string
	Status       Status
	Low, High    float64
}

// MostCells is the largest number of cells that a pack has in series.
const MostCells = 400

// pack is so many cells of a chemistry in series.
func (c *Chemistry) pack(cells int) *Envelope {
	n := float64(cells)
	return &Envelope{Name: fmt.Sprintf("%s %ds", c.Name, cells), Source: c.Source, Clause: "limits of a cell, times the cells in series",
		Status: c.Status, Low: n * c.Low, High: n * c.High}
}

// A Pulse is a test pulse on a supply: a level on top of what the supply has, in volts, behind a resistance, in ohm, from
// its least to its largest.
type Pulse struct {
	Name, Source, Clause string
	Status               Status
	Level                float64
	Resistance           [2]float64
	Lasts                string
}

// Find is the envelope of a name, letter case aside; nil where there is none. "Li-ion 13s" is a pack of 13 cells.
func Find(name string) *Envelope {
	for i := range All {
		if strings.EqualFold(All[i].Name, name) {
			return &All[i]
		}
	}
	for i := range Chemistries {
		c := &Chemistries[i]
		if rest, ok := strings.CutPrefix(strings.ToLower(name), strings.ToLower(c.Name)+" "); ok {
			count, cells := strings.CutSuffix(rest, "s")
			if n, err := strconv.Atoi(count); cells && err == nil && n >= 1 && n <= MostCells && strconv.Itoa(n) == count {
				return c.pack(n)
			}
		}
	}
	return nil
}

// FindPulse is the pulse of a name, letter case aside; nil where there is none.
func FindPulse(name string) *Pulse {
	for i := range Pulses {
		if strings.EqualFold(Pulses[i].Name, name) {
			return &Pulses[i]
		}
	}
	return nil
}

// Duration is how long the pulse lasts, in s; the longest where a range is told.
func (p *Pulse) Duration() float64 {
	text, _, _ := strings.Cut(p.Lasts, ",")
	if _, longest, ok := strings.Cut(text, " to "); ok {
		text = longest
	}
	w, err := quantity.ReadWritten(text, quantity.Second)
	if err != nil {
		return math.NaN()
	}
	return w.Nom
}

// PulseNames yields the names of all pulses.
func PulseNames() iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range Pulses {
			if !yield(Pulses[i].Name) {
				return
			}
		}
	}
}

// Names yields the names of all envelopes; of packs, one of each chemistry.
func Names() iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := range All {
			if !yield(All[i].Name) {
				return
			}
		}
		for i := range Chemistries {
			if !yield(Chemistries[i].pack(13).Name) {
				return
			}
		}
	}
}

// mostNear is how many names are offered in place of one that nobody knows.
const mostNear = 8

// Near are the names that an unknown one may have meant: the nearest one, "" where none is close, and those that share the
// most of its words.
func Near(name string) (nearest string, list []string) { return near(name, Names()) }

// NearPulse is Near among the pulses.
func NearPulse(name string) (nearest string, list []string) { return near(name, PulseNames()) }

func near(name string, all iter.Seq[string]) (nearest string, list []string) {
	if len(name) > 80 {
		return "", nil
	}
	nearest = source.Nearest(name, all)
	words := strings.Fields(strings.ToLower(name))
	best := 0
	for known := range all {
		shared := 0
		for _, w := range strings.Fields(strings.ToLower(known)) {
			if slices.ContainsFunc(words, func(o string) bool { return strings.HasPrefix(w, o) && len(o) > 1 || w == o }) {
				shared++
			}
		}
		switch {
		case shared == 0 || shared < best:
		case shared > best:
			best, list = shared, []string{known}
		case len(list) < mostNear:
			list = append(list, known)
		}
	}
	return nearest, list
}
