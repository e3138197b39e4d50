// Package builtin holds the rules that come with the tool: one file each, with its page in doc/.
package builtin

import "github.com/shuntwright/shuntwright/rules"

// All lists the rules in the order they are judged and printed.
var All = []*rules.Rule{
	SupplyRange,
	CommonModeOperating,
	CommonModeSurvival,
	ReferenceBias,
	FilterGainError,
	FilterBiasError,
	ResistorMatch,
	OpAmpInputRange,
	OpAmpOutputSink,
}
