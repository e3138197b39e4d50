package part

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// rule is the id under which troubles with records are reported.
const rule = "record-field"

// Roles are the pin roles of amplifiers and comparators. Pins of other parts are named freely; those that Simple lists
// say what the part does between them.
var Roles = []string{"in+", "in-", "out", "ground", "supply", "ref", "ref-a", "ref-b", "enable", "gain-select", "address", noConnection}

// noConnection is the role that several pins may have.
const noConnection = "nc"

// Simple are the pin roles of parts that stand for themselves in a circuit, by the role of the part. The two ends of a
// clamp are anode and cathode, or a and b of one that clamps both ways. The ends of a shunt are a and b, where a Kelvin
// one has sense-a and sense-b beside them. A switch joins a and b, or drain and source of a transistor that has a body
// diode between them; its control, gate or enable takes no current.
var Simple = map[string][]string{
	"clamp":     {"anode", "cathode", "a", "b", noConnection},
	"shunt":     {"a", "b", "sense-a", "sense-b", noConnection},
	"capacitor": {"a", "b", noConnection},
	"switch":    {"a", "b", "drain", "source", "gate", "control", "enable", "supply", "ground", noConnection},
}

// fixedRoles are the parts whose pins must have known roles.
var fixedRoles = []string{"sense-amplifier", "op-amp", "comparator"}

// check finds what a record says that does not go together.
func check(d *field.Doc) (diags []source.Diagnostic) {
	for _, key := range []string{"name", "role", "pins"} {
		if d.Get(key) == nil && !d.Refused(key) {
			message := "the record has no " + key
			if name := textOf(d, "name"); name != "" {
				message = fmt.Sprintf("the record %s has no %s", quote(name), key)
			}
			diags = append(diags, source.Diagnostic{At: d.At, Rule: rule, Message: message})
		}
	}
	diags = append(diags, checkPins(d)...)
	diags = append(diags, checkUnits(d)...)
	diags = append(diags, checkPackages(d)...)
	diags = append(diags, checkFormulas(d, d)...)
	diags = append(diags, checkRoles(d, d)...)
	for _, code := range d.Array("code") {
		if code.Get("suffix") == nil && !code.Refused("suffix") {
			diags = append(diags, source.Diagnostic{At: code.At, Rule: rule, Message: "the gain code has no suffix"})
		}
		diags = append(diags, checkFormulas(d, code)...)
		diags = append(diags, checkRoles(d, code)...)
	}
	return diags
}

// checkPins holds the list of pins to known roles, each once. The pins of a package with several units are named
// freely: its units say which has which role.
func checkPins(d *field.Doc) (diags []source.Diagnostic) {
	e := d.Get("pins")
	if e == nil {
		return nil
	}
	free := !slices.Contains(fixedRoles, textOf(d, "role")) || len(d.Names("units")) > 0
	first := map[string]source.Span{}
	for i, pin := range e.Names {
		role, at := strings.ToLower(pin), e.NamesAt[i]
		if before, ok := first[role]; ok && role != noConnection {
			diags = append(diags, source.Diagnostic{At: at, Rule: rule, Message: "two pins have the role " + quote(pin),
				Related: []source.Related{{At: before, Message: "first here"}}})
			continue
		}
		first[role] = at
		if !free && !slices.Contains(Roles, role) {
			diags = append(diags, unknownRole(pin, at, Roles))
		}
	}
	return diags
}

// unknownRole reports a pin role that is none of the known ones.
func unknownRole(name string, at source.Span, known []string) source.Diagnostic {
	d := source.Diagnostic{At: at, Rule: rule, Message: "unknown pin role " + quote(name)}
	if len(name) < 40 {
		d.Near = source.Nearest(name, slices.Values(known))
	}
	if d.Near == "" {
		d.Message += "; there are " + strings.Join(known, ", ")
	}
	return d
}

// checkUnits holds the pins of units to the list of pins.
func checkUnits(d *field.Doc) (diags []source.Diagnostic) {
	pins := d.Get("pins")
	fixed := slices.Contains(fixedRoles, textOf(d, "role"))
	for e := range d.Under("units") {
		if pins != nil && (e.Count < 1 || e.Count > len(pins.Names)) {
			diags = append(diags, source.Diagnostic{At: e.ValueAt, Rule: rule,
				Message: fmt.Sprintf("%s is pin %d, but the pins are counted from 1 to %d", e.Key(), e.Count, len(pins.Names)),
				Related: []source.Related{{At: pins.At, Message: "the pins"}}})
		}
		if fixed && !slices.Contains(Roles, strings.ToLower(e.Path[2])) {
			diags = append(diags, unknownRole(e.Path[2], e.PathAt[2], Roles))
		}
	}
	return diags
}

// checkPackages holds the roles that packages and port names mention to the list of pins.
func checkPackages(d *field.Doc) (diags []source.Diagnostic) {
	known := rolesOf(d)
	if len(known) == 0 {
		return nil
	}
	for e := range d.Under("packages") {
		for i, pin := range e.Names {
			if role := strings.ToLower(pin); role != noConnection && !slices.Contains(known, role) {
				diags = append(diags, unknownRole(pin, e.NamesAt[i], known))
			}
		}
	}
	for e := range d.Under("pin-names") {
		if !slices.Contains(known, strings.ToLower(e.Path[1])) {
			diags = append(diags, unknownRole(e.Path[1], e.PathAt[1], known))
		}
	}
	return diags
}

// checkFormulas holds the names in formulas to the pin roles of the part.
func checkFormulas(base, d *field.Doc) (diags []source.Diagnostic) {
	roles := rolesOf(base)
	if len(roles) == 0 {
		return nil
	}
	for e := range d.Under() {
		for _, name := range e.FormulaNames() {
			if slices.Contains(roles, strings.ToLower(name)) {
				continue
			}
			diag := unknownRole(name, e.ValueAt, roles)
			hint := field.Apart(name, e.Field.Unit)
			if first, _, _ := strings.Cut(strings.ToLower(hint), " "); hint != "" && (diag.Near == "" || slices.Contains(roles, first)) {
				diag.Message, diag.Near = fmt.Sprintf("%s is read as a name; write %s", quote(name), quote(hint)), ""
			}
			diag.Message = e.Key() + ": " + diag.Message
			diags = append(diags, diag)
		}
	}
	return diags
}

// checkRoles holds the fields of a record, or of one of its gain codes, to those that a part of its role has.
func checkRoles(base, d *field.Doc) (diags []source.Diagnostic) {
	role := textOf(base, "role")
	for e := range d.Under() {
		if role == "" || len(e.Field.Roles) == 0 || slices.Contains(e.Field.Roles, role) {
			continue
		}
		diags = append(diags, source.Diagnostic{At: e.At, Rule: rule,
			Message: fmt.Sprintf("%s is no field of a part with the role %s; it belongs to %s", e.Key(), role, listed(e.Field.Roles))})
	}
	return diags
}

// listed joins words as a sentence does.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// rolesOf are the roles of the pins of a part, in lower case.
func rolesOf(d *field.Doc) (roles []string) {
	if e := d.Get("pins"); e != nil {
		for _, pin := range e.Names {
			roles = append(roles, strings.ToLower(pin))
		}
	}
	for e := range d.Under("units") {
		if role := strings.ToLower(e.Path[2]); !slices.Contains(roles, role) {
			roles = append(roles, role)
		}
	}
	return roles
}

// quote puts a text of a file into a message.
func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:57]) + "..."
	}
	return fmt.Sprintf("%q", s)
}
