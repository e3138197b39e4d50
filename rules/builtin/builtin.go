// Package builtin holds the rules that come with the tool: one file each, with its page in doc/.
package builtin

import "github.com/shuntwright/shuntwright/rules"

// All lists the rules in the order they are judged and printed.
var All = []*rules.Rule{
	SupplyRange,
	CommonModeOperating,
	CommonModeSurvival,
	InputUndershoot,
	DifferentialSurvival,
	ClampLevel,
	ClampCurrent,
	ClampLeakage,
	SurgeEvent,
	PinBeyondSupply,
	PassiveRating,
	ReferenceBias,
	OutputHeadroom,
	OutputFloor,
	ScaleAgreement,
	OutputLoading,
	AdcOvervoltage,
	InputFullScale,
	MinimumSenseVoltage,
	TemperatureRange,
	ShuntInductance,
	FilterGainError,
	FilterBiasError,
	ShuntPair,
	SensePolarity,
	PinMap,
	FloatingPin,
	ChannelCrossing,
	SiblingMismatch,
	FilterAsymmetry,
	ReferenceImpedance,
	ReferencePair,
	ReferenceRange,
	RatiometricMismatch,
	CurrentOutputCompliance,
	DigitalRange,
}
