// Package rules is what a rule sees and what it answers. It knows no rule, no file and no printer.
package rules

// A Rule is a constant value.
type Rule struct {
	ID    string // the name people see and accept findings by; never changes
	Title string // what is wrong when it fails, in a few words
	Level Level  // of a plain failure; a check may say less
	Page  string // what breaks, computation, inputs, thresholds, a bad and a good deck: CommonMark
	Since int    // the rule set in which it came or last changed its verdicts; 0 and 1: from the first
	Whole bool   // it is judged once, on the whole netlist: its bench has no block
	Judge func(*Bench)
}
