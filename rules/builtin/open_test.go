package builtin_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

var (
	said  = regexp.MustCompile(`(?m)^\* shuntwright: .*$`)
	field = regexp.MustCompile(`(?m)^[a-z][a-z.-]* = .*$`)
	value = regexp.MustCompile(`(?m)^([RC]\w* \S+ \S+) \S+$`)
	twoIn = regexp.MustCompile(`(?m)^(X\w*) (\S+) \S+ (.*)$`)
	inner = regexp.MustCompile(`[a-z][a-z-]* = ("[^"]*"|\[\[[^=]*\]\]|[0-9]+)`)
)

// Every rule misses something once something is left unsaid in a deck of its page: a card of intent, a field of a record, an
// entry of either, the value of a card, the shunt between two inputs. Then it is open and names what it misses.
func TestEveryRuleMissesSomething(t *testing.T) {
	text, err := os.ReadFile("doc/parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	records := string(text)
	// What these ask for are pins, records and models, which their own tests leave out.
	elsewhere := []*rules.Rule{builtin.ShuntPair, builtin.GroundReturn, builtin.KelvinTerminals}
	for _, rule := range all {
		if slices.Contains(elsewhere, rule) {
			continue
		}
		t.Run(rule.ID, func(t *testing.T) {
			t.Parallel()
			for _, deck := range fences(t, rule.Page) {
				for _, less := range shorter(deck, records) {
					d, _, diags := bind(t, less[0], less[1])
					if slices.ContainsFunc(diags, func(d source.Diagnostic) bool { return d.Rule != "netlist-expression" }) {
						continue
					}
					for _, r := range rules.Judge(d, []*rules.Rule{rule}, rules.NoRemedies).Results {
						if r.Rule == rule.ID && r.Kind == rules.KindOpen && len(r.Needs) > 0 {
							return
						}
					}
				}
			}
			t.Error("nothing that is left out makes it open")
		})
	}
}

// shorter are a deck and its records with one card, entry or field less; of the records those that the deck calls.
func shorter(deck, records string) (out [][2]string) {
	for _, at := range said.FindAllStringIndex(deck, -1) {
		out = append(out, [2]string{deck[:at[0]] + "*" + deck[at[1]:], records})
		for _, e := range inner.FindAllStringIndex(deck[at[0]:at[1]], -1) {
			card := deck[at[0]:at[1]]
			out = append(out, [2]string{deck[:at[0]] + strings.NewReplacer("{ , ", "{ ", ", , ", ", ", ", }", " }").Replace(card[:e[0]]+card[e[1]:]) + deck[at[1]:], records})
		}
	}
	for _, at := range value.FindAllStringIndex(deck, -1) {
		out = append(out, [2]string{deck[:at[0]] + value.ReplaceAllString(deck[at[0]:at[1]], "$1 {nowhere}") + deck[at[1]:], records})
	}
	for _, at := range twoIn.FindAllStringIndex(deck, -1) {
		out = append(out, [2]string{deck[:at[0]] + twoIn.ReplaceAllString(deck[at[0]:at[1]], "$1 $2 $2 $3") + deck[at[1]:], records})
	}
	for _, part := range strings.Split(records, "[[part]]\n")[1:] {
		name := strings.Split(part, `"`)[1]
		if !strings.Contains(strings.ToLower(deck), strings.ToLower(name)) {
			continue
		}
		start := strings.Index(records, part)
		for _, at := range field.FindAllStringIndex(part, -1) {
			out = append(out, [2]string{deck, records[:start] + part[:at[0]] + part[at[1]:] + records[start+len(part):]})
			for _, e := range inner.FindAllStringIndex(part[at[0]:at[1]], -1) {
				line := part[at[0]:at[1]]
				cut := strings.NewReplacer("{ , ", "{ ", ", , ", ", ", ", }", " }", "{  }", "{}").Replace(line[:e[0]] + line[e[1]:])
				out = append(out, [2]string{deck, records[:start] + part[:at[0]] + cut + part[at[1]:] + records[start+len(part):]})
			}
		}
	}
	return out
}
