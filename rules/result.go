package rules

import (
	"time"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Level is the weight of a failure, as in SARIF 2.1.0, 3.27.10.
type Level uint8

const (
	Note Level = iota + 1
	Warning
	Error
)

func (l Level) String() string { return [...]string{"none", "note", "warning", "error"}[l] }

// A Kind is the outcome of one rule on one instance, in order of weight; the names are those of SARIF 2.1.0, 3.27.9.
type Kind uint8

const (
	KindNotApplicable Kind = iota
	KindPass
	KindReview // holds only if something undeclared is true, or rests on a typical value, or the bound is loose
	KindOpen   // cannot be judged; the result names the missing inputs
	KindFail
)

func (k Kind) String() string {
	return [...]string{"notApplicable", "pass", "review", "open", "fail"}[k]
}

// A Result is one rule judged on one instance, or a trouble with an input (then Block is empty). Printers may group
// instances of one card; nothing else does.
type Result struct {
	Rule     string
	Kind     Kind
	Level    Level  // set only on KindFail
	Block    string // instance path of the sense block; "" for a result on an input or on a whole netlist
	Variant  string // the assembly variant that was judged, where it comes out otherwise than the drawing; "" for the drawing
	Message  string
	At       source.Span   // the card, or the place in a record or intent file
	Calls    []source.Span // the X cards that lead to the card, innermost first
	Measures []Measure     // what was held against limits, the worst first
	Needs    []quantity.Need
	Assumed  []string // defaults and nominals that the verdict stands on
	Related  []source.Related
	Remedy   *Remedy
	Advice   string // a remedy in the rule's own words: nothing was judged again
	Grade    quantity.Grade
	Stated   int              // checks that state the verdict without a number
	Off      bool             // the policy leaves the rule out
	Brings   []source.Related // what comes of this failure and is no finding of its own, and what else its remedy settles
	Follows  string           // the rule of the same block whose failure this comes of: told there, no finding of its own
	Accepted *Acceptance      // why nobody has to act on it; nil where nobody said so
}

// Finding tells whether a person has to see the result.
func (r Result) Finding() bool { return r.Unsettled() && r.Follows == "" }

// Unsettled tells whether somebody has to act on the result, be it by what it follows.
func (r Result) Unsettled() bool { return r.Kind > KindPass && r.Accepted == nil }

// An Acceptance is a recorded decision to live with a finding.
type Acceptance struct {
	Rule, Pattern  string // which findings: of this rule, on instances whose path fits
	Variant        string // of this assembly variant; "" for every one, and the drawing
	Because, Owner string
	Until          time.Time // the last day, its beginning in UTC; zero: no end
	Margins        []string  // as written, one for each unit; a worse one is a finding again
	At             source.Span
	InSource       bool // it stands in a comment card of the netlist
}

// A Measure is one quantity held against its limits, ready to print. Numbers are in SI units; NaN stands for "not
// known" or "no such limit".
type Measure struct {
	Name               string
	Unit               quantity.Unit
	Min, Max           float64 // Seen: attained by a witness; infinite where nothing limits it
	SoundMin, SoundMax float64 // no allowed state lies outside
	LimitMin, LimitMax float64
	Margin             float64 // from the nearer end to its limit, negative beyond it
	AtHigh             bool    // the end that decides is the high one
	Arithmetic         string  // how the deciding end comes about: "0.5 V - 31.9 mV/A x 20 A - 2.3 mV"
	LimitText          string  // the limit in words: "output.low"
	From, LimitFrom    []From  // where the numbers come from, the heaviest first
	Witness            []string
	Reason             string // why an end is unbounded
	Loose              bool
	Kind               Kind
	Level              Level // of a failure of this measure
}

// From is the origin of one number.
type From struct {
	At   source.Span
	Text string // "zero", "scale", "currents.RSH_A.range"
}

// A Remedy is computed and judged again before it is offered.
type Remedy struct {
	Text    string          // "RF1, RF2 at most 14.3 ohm each"
	Changes []design.Change // what was laid over the design to verify it
	Kind    Kind            // of the result with it: pass, or review where something undeclared is left
	Breaks  []string        // rules of the block that do worse with it; empty: all rules were judged again and none does
	Cures   []string        // further rules of the block that fail today and do not with it
	Settles []string        // further rules of the block that find something today and nothing with it
}
