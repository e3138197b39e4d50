package cli_test

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// What is silent must have been judged: these rules pass in a design, and do not only not apply.
var cleanJudges = map[string][]string{
	"anchor":      {"resistor-match", "op-amp-input-range", "op-amp-output-sink", "reference-bias", "output-headroom", "scale-agreement"},
	"bilge-pump":  {"recirculation-path", "input-undershoot", "output-floor", "ground-return", "shunt-pulse-energy"},
	"charger":     {"reference-impedance", "reference-pair", "reference-bias"},
	"galley":      {"ground-return", "op-amp-input-range", "output-floor", "scale-agreement"},
	"generator":   {"shunt-pair", "kelvin-terminals", "shunt-power", "scale-agreement"},
	"rudder":      {"reference-bias", "scale-agreement", "output-headroom"},
	"searchlight": {"current-output-compliance", "surge-event", "clamp-leakage", "scale-agreement", "output-headroom"},
	"thruster":    {"digital-range", "filter-bias-error", "scale-agreement"},
	"winches":     {"sibling-mismatch", "sense-polarity"},
	"windlass":    {"trip-window", "trip-let-through", "start-up", "input-undershoot", "recirculation-path", "reference-bias"},
}

// Designs of several kinds in which nothing is wrong and nothing that matters is left unsaid: no rule finds anything.
func TestCleanDesigns(t *testing.T) {
	decks, err := filepath.Glob(filepath.Join("..", "..", "testdata", "clean", "*.cir"))
	if err != nil || len(decks) < len(cleanJudges) {
		t.Fatalf("%d clean designs, %v", len(decks), err)
	}
	for _, deck := range decks {
		name := strings.TrimSuffix(filepath.Base(deck), ".cir")
		t.Run(name, func(t *testing.T) {
			code, out, stderr := run(builtin.All, "lint", strict, deck)
			if code != 0 || !strings.Contains("\n"+out, "\n0 fail, 0 review, 0 undecided") || stderr != "" {
				t.Errorf("exit %d\n%s%s", code, out, stderr)
			}
			_, out, _ = run(builtin.All, "lint", "--format", "json", deck)
			var a answer
			if err := json.Unmarshal([]byte(out), &a); err != nil {
				t.Fatal(err)
			}
			for _, rule := range cleanJudges[name] {
				if !slices.ContainsFunc(a.results(), func(r ruling) bool { return r.Rule == rule && r.Kind == "pass" }) {
					t.Errorf("%s does not pass", rule)
				}
			}
		})
	}
}
