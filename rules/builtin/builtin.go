// Package builtin holds the rules that come with the tool: one file each, with its page in doc/.
package builtin

import "github.com/shuntwright/shuntwright/rules"

// All lists the rules in the order they are judged and printed: first what the circuit is, then what it survives, what it
// reads, and what it is used for.
var All = []*rules.Rule{
	// Topology and pinning
	ShuntPair, SensePolarity, PinMap, FloatingPin, ChannelCrossing, ShuntBypass, HiddenConsumer, RecirculationPath,
	KelvinTerminals, GroundReturn,
	// Survival
	SupplyRange, CommonModeOperating, CommonModeSurvival, InputUndershoot, DifferentialSurvival, ClampLevel, ClampCurrent,
	ClampLeakage, SurgeEvent, PinBeyondSupply,
	// Range and scale
	OutputHeadroom, OutputFloor, ReferenceBias, ScaleAgreement, OutputLoading, AdcOvervoltage, MinimumSenseVoltage,
	DigitalRange, CurrentOutputCompliance,
	// Reference
	ReferenceImpedance, ReferencePair, RatiometricMismatch,
	// Input network
	FilterGainError, FilterBiasError, FilterAsymmetry, ShuntInductance,
	// Protection
	TripWindow, TripLetThrough,
	// Power, ground and power states
	ShuntPower, ShuntPulseEnergy, BurdenVoltage, UnpoweredInputs, StartUp, Decoupling, GroundDomain,
	// Validity and consistency
	TemperatureRange, InputFullScale, ReferenceRange, SiblingMismatch, PassiveRating,
	// Op amps
	ResistorMatch, OpAmpInputRange, OpAmpOutputSink,
}
