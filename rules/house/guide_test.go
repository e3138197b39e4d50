package house_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The guide names everything that rules can ask and say, and nothing else.
func TestGuideNamesTheView(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), "\n## A house rule in ten minutes\n")
	page, _, _ := strings.Cut(rest, "\n## ")
	word := regexp.MustCompile("`([a-z_]+)[`(]")
	for thing, of := range map[string]string{
		"block": "block", "leg": "block.plus", "pin": "block.references[0]", "output": "block.output", "part": "block.part",
		"element": "block.shunt[0]", "net": `block.circuit.net("VM")`, "circuit": "block.circuit", "intent": "block.intent",
		"quantity": "block.shunt_resistance", "say": "say",
	} {
		r := one(t, `say.holds(" ".join(dir(`+of+`)))`)
		there := strings.Fields(r.Message)
		row := regexp.MustCompile(`(?m)^\| ` + thing + `( \(.*?\))? \| (.*) \|$`).FindString(page)
		var named []string
		if thing == "say" {
			for _, m := range regexp.MustCompile("say\\.([a-z_]+)\\(").FindAllStringSubmatch(page, -1) {
				named = append(named, m[1])
			}
		}
		_, cells, _ := strings.Cut(strings.TrimPrefix(row, "| "), "|")
		for _, m := range word.FindAllStringSubmatch(cells, -1) {
			named = append(named, m[1])
		}
		for _, n := range there {
			if !slices.Contains(named, n) {
				t.Errorf("the guide says nothing about %s.%s", thing, n)
			}
		}
		for _, n := range named {
			if !slices.Contains(there, n) {
				t.Errorf("the guide names %s.%s, which is not there", thing, n)
			}
		}
	}
}
