package parse

import (
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The README lists the functions of expressions, all of them.
func TestReadmeListsFunctions(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, list, _ := strings.Cut(string(readme), "and the functions ")
	list, _, _ = strings.Cut(list, ";")
	var got []string
	for _, m := range regexp.MustCompile("`([a-z0-9]+)`").FindAllStringSubmatch(list, -1) {
		got = append(got, m[1])
	}
	if want := slices.Sorted(maps.Keys(functions)); !slices.Equal(got, want) {
		t.Errorf("the README lists %v, there are %v", got, want)
	}
}
