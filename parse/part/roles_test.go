package part

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

func TestRolesAreDescribed(t *testing.T) {
	for _, role := range RoleNames() {
		if RoleDoc(role) == "" {
			t.Errorf("nobody says what a %s is", role)
		}
		list := FieldsOf(role)
		for _, key := range []string{"name", "match", "role", "pins", "source"} {
			if !slices.ContainsFunc(list, func(f field.Field) bool { return f.Key == key }) {
				t.Errorf("a %s has no %s", role, key)
			}
		}
		if len(list) == len(Fields) {
			t.Errorf("a %s has every field", role)
		}
		for _, f := range list {
			if f.Key == "role" && f.Example() != `"`+role+`"` {
				t.Errorf("the example of a role is %s", f.Example())
			}
		}
	}
	for _, f := range Fields {
		for _, role := range f.Roles {
			if !slices.Contains(RoleNames(), role) {
				t.Errorf("%s belongs to %s, which is no role", f.Key, role)
			}
		}
	}
	if got := Lookup("role").Words; len(got) < 2 {
		t.Errorf("asking for fields changed the roles: %q", got)
	}
}

// A field that names no role belongs to all, so only what is true of every part may go without.
func TestFieldsOfEveryPart(t *testing.T) {
	every := []string{"name", "match", "role", "pins", "pin-names.*", "packages.*", "source", "rated.ambient", "rated.junction",
		"rated.theta-ja", "units.*.*"}
	for _, f := range Fields {
		if len(f.Roles) == 0 && !slices.Contains(every, f.Key) {
			t.Errorf("%s names no role", f.Key)
		}
	}
}

// A field of another role is an error at its place, in the part and in its gain codes; one of its own role is none.
func TestFieldsOfOtherRoles(t *testing.T) {
	for text, want := range map[string]string{
		"role = \"clamp\"\npins = [\"a\", \"b\"]\ngain = \"5 V/V\"\n":                              "gain is no field of a part with the role clamp; it belongs to sense-amplifier, digital-monitor and op-amp",
		"role = \"clamp\"\npins = [\"a\", \"b\"]\n[[part.code]]\nsuffix = \"-5\"\nterminals = 4\n": "terminals is no field of a part with the role clamp; it belongs to shunt",
		"role = \"clamp\"\npins = [\"a\", \"b\"]\nclamp.breakdown = \"5 V\"\n":                     "",
		"role = \"shunt\"\npins = [\"a\", \"b\"]\nterminals = 4\nrated.junction = \"90 degC\"\n":   "",
		"role = \"clmp\"\npins = [\"a\", \"b\"]\ngain = \"5 V/V\"\n":                               "is none of",
	} {
		set, lib := source.NewSet(), &Library{}
		var got []string
		for _, d := range lib.Read(set, set.Add("dock.toml", []byte("[[part]]\nname = \"dock\"\n"+text), source.Span{})) {
			got = append(got, d.Message)
		}
		if want == "" && got != nil || want != "" && (len(got) == 0 || !strings.Contains(got[0], want)) {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
