package house

import "github.com/shuntwright/shuntwright/parse/quantity"

// What goes over the pipe is one line of JSON each way. The linter orders; the child answers, and asks where it needs more.

// An order is what the child is told to do; one of its fields is set.
type order struct {
	Load   *loading `json:",omitempty"`
	Judge  *judging `json:",omitempty"`
	Answer *answer  `json:",omitempty"` // to what the child asked
}

// loading hands the child the text of a file of rules.
type loading struct{ Path, Text string }

// judging names the rules that look at a block.
type judging struct {
	Design int // a new number where the circuit is another one than before
	Block  view
	Whole  bool // the rules look at the whole circuit instead
	Rules  []string
}

// A reply is what the child says; one of its fields is set.
type reply struct {
	Loaded *loaded `json:",omitempty"`
	Judged []said  `json:",omitempty"` // in the order of the rules
	Ask    *ask    `json:",omitempty"`
	Busy   string  `json:",omitempty"` // the rule or file that is taking its time
}

// loaded is what a file of rules holds, or why it cannot be used.
type loaded struct {
	Rules []meta `json:",omitempty"`
	Fault *fault `json:",omitempty"`
}

// meta is all of a rule but its function.
type meta struct {
	ID, Title, Level, Page string
	Line                   int
	Whole                  bool     // it looks at the whole circuit
	Verdicts               []string // that its function can give, by the words of its calls
}

// A fault is why a file or a rule cannot go on.
type fault struct {
	Message      string
	Line, Column int             `json:",omitempty"` // in the file of the rule; 0: not known
	Needs        []quantity.Need `json:",omitempty"`
	Spent        bool            `json:",omitempty"` // it cost too much to be met on every block
	Undecided    bool            `json:",omitempty"` // nothing is wrong with the rule: it asked for what nobody can tell
}

// said is what one rule says about a block.
type said struct {
	Rule  string
	Acts  []act  `json:",omitempty"`
	Fault *fault `json:",omitempty"`
}

// An act is one call of say.
type act struct {
	Do       string
	Message  string      `json:",omitempty"`
	Quantity *expression `json:",omitempty"`
	Low      *expression `json:",omitempty"`
	High     *expression `json:",omitempty"`
	Name     string      `json:",omitempty"` // of the quantity
	Limit    string      `json:",omitempty"` // the limit in words
	Level    string      `json:",omitempty"`
	At       string      `json:",omitempty"` // the element it is about
	In       string      `json:",omitempty"` // where what is missing would be written
	Remedy   string      `json:",omitempty"`
	Lower    []string    `json:",omitempty"`
	Raise    []string    `json:",omitempty"`
	Evidence []pointer   `json:",omitempty"`
}

// A pointer is an element and what there is to see at it.
type pointer struct{ At, Text string }

// An ask is a question of the child; the fields that count follow from What.
type ask struct {
	What     string
	Quantity *expression `json:",omitempty"`
	Name     string      `json:",omitempty"`
	To       string      `json:",omitempty"`
	Kinds    string      `json:",omitempty"`
	Like     string      `json:",omitempty"`
	Path     []string    `json:",omitempty"`
}

// An answer holds what was asked for.
type answer struct {
	Found     bool            `json:",omitempty"`
	Name      string          `json:",omitempty"` // as the netlist writes it
	Fault     string          `json:",omitempty"`
	Needs     []quantity.Need `json:",omitempty"` // of a fault that is none of the rule
	Undecided bool            `json:",omitempty"`
	Elements  []element       `json:",omitempty"`
	Blocks    []view          `json:",omitempty"`
	Entry     *entry          `json:",omitempty"`
	Reach     *reach          `json:",omitempty"`
}

// An entry is a line of intent.
type entry struct {
	Text     string
	Names    []string
	Flag     *bool
	Quantity bool // it is a quantity in the unit
	Unit     quantity.Unit
}

// reach is what a quantity can be. An end that is nil is not known or without limit.
type reach struct {
	Low, High, Nominal *float64
	Typical            bool // it rests on a typical value, which decides nothing
	Needs              []quantity.Need
	From               []string
}

// A view is a block as the rules see it.
type view struct {
	Name, Kind, Part, Unit string
	Amplifier              element
	Pins                   []pin
	Shunt                  []element
	Broken                 string `json:",omitempty"`
	Plus, Minus            leg
	References             []pin
	SupplySeries           []element
	Output                 output
}

type pin struct{ Role, Net, Source string }

type leg struct {
	Pin, Shunt string
	Series     []element
	Inner      []string
}

type output struct {
	Pin, Converter, Declared string
	Series                   []element
}

// An element is one element of the flat circuit.
type element struct {
	Path  string
	Kind  string
	Nets  []string
	Value *float64 `json:",omitempty"`
	Model string   `json:",omitempty"`
	Part  string   `json:",omitempty"`
}
