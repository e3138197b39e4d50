package cli

import (
	"errors"
	"path/filepath"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/policy"
)

const policyName = "shuntwright.toml"

// A decided is the policy that counts for one netlist.
type decided struct {
	*policy.Policy
	path  string // as printed; "" where there is none
	dir   string // its folder
	given bool   // by --policy
}

// decide reads the policy for a netlist: the file that was named, else the first one found upward from the netlist.
func (in inputs) decide(set *source.Set, netlist string, list []*rules.Rule) (d decided, diags []source.Diagnostic, unread []report.Unread) {
	d.Policy = policy.None(list)
	name := in.policy
	if d.given = name != ""; !d.given {
		if name = upward(filepath.Dir(netlist)); name == "" {
			return d, nil, nil
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
	d.Policy, diags = policy.Read(set, set.Add(d.path, text, source.Span{}), list)
	if unusable(text) {
		return d, nil, []report.Unread{spoilt(set, d.path, diags)}
	}
	return d, diags, nil
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
