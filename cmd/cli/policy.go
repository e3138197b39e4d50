package cli

import (
	"errors"
	"path/filepath"
	"slices"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
	"github.com/shuntwright/shuntwright/rules/policy"
)

const policyName = "shuntwright.toml"

// A decided is the policy that counts for one netlist.
type decided struct {
	*policy.Policy
	rules []*rules.Rule // that it decides about: those of the build, and house rules
	house *house.Set
	path  string // as printed; "" where there is none
	dir   string // its folder
	given bool   // by --policy
}

// decide reads the policy for a netlist: the file that was named, else the first one found upward from the netlist. House
// rules are found as well, since the policy says where and is about them.
func (in inputs) decide(set *source.Set, netlist string, list []*rules.Rule) (d decided, diags []source.Diagnostic, unread []report.Unread) {
	d.Policy, d.rules = policy.None(list), list
	join := func(said *source.Set) {
		d.house, unread = in.houses.of(in, netlist, said, d)
		d.rules = slices.Concat(list, d.house.List())
	}
	name := in.policy
	if d.given = name != ""; !d.given {
		if name = upward(filepath.Dir(netlist)); name == "" {
			join(set)
			d.Policy = policy.None(d.rules)
			return d, nil, unread
		}
	}
	d.dir, d.path = filepath.Dir(name), shown(name)
	var text []byte
	var err error
	if d.given {
		text, err = readNamed(name, in.fileBytes())
	} else {
		text, err = readFound(d.dir, policyName, in.fileBytes())
	}
	if err != nil {
		return d, nil, []report.Unread{{Path: d.path, Message: err.Error()}}
	}
	first := source.NewSet()
	d.Policy, _ = policy.Read(first, first.Add(d.path, text, source.Span{}), list)
	if !unusable(text) {
		join(first)
	}
	d.Policy, diags = policy.Read(set, set.Add(d.path, text, source.Span{}), d.rules)
	if unusable(text) {
		return d, nil, []report.Unread{spoilt(set, d.path, diags)}
	}
	return d, diags, unread
}

// readFound reads a plain file that nobody named: nil where it is not there.
func readFound(dir, name string, most int) ([]byte, error) {
	text, err := readBeside(dir, name, "", most)
	if errors.Is(err, errOutside) {
		err = errLinked
	}
	return text, err
}

// upward is the policy file in a folder or the nearest one above it; "" where there is none.
func upward(dir string) string {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	for {
		name := filepath.Join(dir, policyName)
		if exists(name) {
			return name
		}
		if abs == filepath.Dir(abs) {
			return ""
		}
		dir, abs = filepath.Join(dir, ".."), filepath.Dir(abs)
	}
}
