package part

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
)

// roleDocs say what a part of a role is, in one line.
var roleDocs = map[string]string{
	"sense-amplifier": "amplifier that reads the voltage across a shunt",
	"digital-monitor": "converter that reads the voltage across a shunt and hands out numbers",
	"op-amp":          "amplifier that resistors around it make a sense block of",
	"comparator":      "compares two voltages and drives a trip",
	"shunt":           "resistor that the current flows through, with two or four terminals",
	"clamp":           "diode that limits a voltage",
	"converter":       "analogue to digital converter behind an amplifier",
	"capacitor":       "capacitor with a record of its own",
	"switch":          "transistor or switch that carries the current",
}

// RoleNames are the roles that a part may have, in the order in which the field "role" lists them.
func RoleNames() []string { return slices.Clone(Lookup("role").Words) }

// RoleDoc says what a part of a role is; "" where nobody wrote it down.
func RoleDoc(role string) string { return roleDocs[role] }

// RolePins are the pin roles that a part of a role may have; nil where pins are named freely.
func RolePins(role string) []string {
	if slices.Contains(fixedRoles, role) {
		return slices.Clone(Roles)
	}
	return slices.Clone(Simple[role])
}

// FieldsOf are the fields of a part with a role, in the order of Fields.
func FieldsOf(role string) (list []field.Field) {
	for _, f := range Fields {
		if f.Key == "role" {
			f.Words = []string{role}
		}
		if len(f.Roles) == 0 || slices.Contains(f.Roles, role) {
			list = append(list, f)
		}
	}
	return list
}
