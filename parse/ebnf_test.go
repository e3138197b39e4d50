package parse

import (
	"os"
	"testing"
)

// grammar.ebnf is the language in print; UPDATE=1 in the environment rewrites it.
func TestGrammarInPrint(t *testing.T) {
	const file = "grammar.ebnf"
	want := Grammar() + "\n"
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not the grammar any more (UPDATE=1 rewrites it)", file)
	}
}
