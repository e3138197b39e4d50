package cli_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// A mutation is one slip of the hand in a clean design: a card deleted, a value ten times too large or small, two pins
// changed for each other.
type mutation struct {
	file       string
	at         int    // line of the card, from 1
	what, card string // "swap 1 2", and the card as it was
	text       string // the card as it is then; empty: gone
}

func (m mutation) String() string { return fmt.Sprintf("%-9s %s: %s", m.what, m.file, m.card) }

var valued = regexp.MustCompile(`^([RCL]\w* +\S+ +\S+ +)([\d.]+)(\S*)(.*)$`)

// mutations are all that can be done to the cards of a file.
func mutations(file, text string) (out []mutation) {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if i == 0 || l == "" || !strings.ContainsRune("RCLVIDMXEGFHSB", rune(l[0])) {
			continue
		}
		whole := l // with the lines that go on
		for last := i; last+1 < len(lines) && strings.HasPrefix(lines[last+1], "+"); last++ {
			whole += " " + strings.TrimPrefix(lines[last+1], "+")
		}
		words := strings.Fields(whole)
		whole = strings.Join(words, " ")
		add := func(what, text string) { out = append(out, mutation{file, i + 1, what, whole, text}) }
		add("delete", "")
		if m := valued.FindStringSubmatch(whole); m != nil && m[2] != "0" {
			add("times 10", fmt.Sprintf("%s%se1%s%s", m[1], m[2], m[3], m[4]))
			add("tenth", fmt.Sprintf("%s%se-1%s%s", m[1], m[2], m[3], m[4]))
		}
		pins := map[byte]int{'D': 2, 'V': 2, 'I': 2, 'M': 3, 'S': 4, 'E': 4, 'X': len(words) - 2}[l[0]]
		for a := 1; a <= pins; a++ {
			for b := a + 1; b <= pins; b++ {
				if words[a] == words[b] {
					continue
				}
				w := slices.Clone(words)
				w[a], w[b] = w[b], w[a]
				add(fmt.Sprintf("swap %d %d", a, b), strings.Join(w, " "))
			}
		}
	}
	return out
}

// mutated is the deck with a mutation.
func (d deck) mutated(m mutation) deck {
	lines := strings.Split(d[m.file], "\n")
	last := m.at
	for last < len(lines) && strings.HasPrefix(lines[last], "+") {
		last++
	}
	var put []string
	if m.text != "" {
		put = []string{m.text}
	}
	o := maps.Clone(d)
	o[m.file] = strings.Join(slices.Replace(lines, m.at-1, last, put...), "\n")
	return o
}

// included are the files that a netlist of the deck is read from, itself first.
func (d deck) included(netlist string) []string {
	files := []string{netlist}
	for i := 0; i < len(files); i++ {
		for _, l := range strings.Split(d[files[i]], "\n") {
			if w := strings.Fields(l); len(w) > 1 && strings.EqualFold(w[0], ".include") && !slices.Contains(files, strings.Trim(w[1], `"`)) {
				files = append(files, strings.Trim(w[1], `"`))
			}
		}
	}
	return files
}

const (
	// sampled is how far apart the mutations are that an everyday run makes of the small designs, and of the large one. kept is
	// how far apart those of the large one are that its list holds.
	sampled, sampledLarge, kept = 12, 480, 12
	// patience is how long a mutation may take before it is listed as slow.
	patience = "60s"
)

// TestMutations makes slips of the hand in the small clean designs and holds that those which no rule notices are the ones
// listed in testdata/report/mutations.txt. A sample is made; EVERY_MUTATION=1 makes each; UPDATE=1 makes each and rewrites the
// list. What takes longer than a minute is listed as slow, and made by UPDATE=1 alone.
func TestMutations(t *testing.T) {
	small := readDeck(t, filepath.Join("..", "..", "testdata", "clean"))
	var list []handSlip
	for _, file := range slices.Sorted(maps.Keys(small)) {
		if strings.HasSuffix(file, ".cir") {
			list = append(list, handSlips(small, file)...)
		}
	}
	holdSlips(t, "mutations.txt", list, sampled, 1, os.Getenv("UPDATE") != "")
}

// TestMutationsOfTheExample does the same with the large clean example and mutations-ferry.txt, of which a mutation takes
// seconds: UPDATE=1 and EVERY_MUTATION=1 together rewrite that list, which holds one mutation in twelve.
func TestMutationsOfTheExample(t *testing.T) {
	update := os.Getenv("UPDATE") != "" && os.Getenv("EVERY_MUTATION") != ""
	if _, err := os.Stat(listed("mutations-ferry.txt")); err != nil && !update {
		t.Skip("no list of them is made yet")
	}
	holdSlips(t, "mutations-ferry.txt", handSlips(example(t), clean), sampledLarge, kept, update)
}

func listed(name string) string { return filepath.Join("..", "..", "testdata", "report", name) }

// A handSlip is a mutation of a deck that a netlist is read from.
type handSlip struct {
	deck
	netlist string
	mutation
}

func handSlips(d deck, netlist string) (out []handSlip) {
	for _, file := range d.included(netlist) {
		for _, m := range mutations(file, d[file]) {
			out = append(out, handSlip{d, netlist, m})
		}
	}
	return out
}

// holdSlips makes one slip in some, and compares with the list of a file, which holds one in kept.
func holdSlips(t *testing.T, name string, list []handSlip, some, kept int, update bool) {
	t.Helper()
	text, err := os.ReadFile(listed(name))
	if err != nil && !update {
		t.Fatal(err)
	}
	known := strings.Split(string(text), "\n")
	every := os.Getenv("EVERY_MUTATION") != ""
	made := 0
	var mu sync.Mutex
	unnoticed := map[int]string{}
	t.Run("each", func(t *testing.T) {
		for i, m := range list {
			holds := i%kept == 0
			slow := slices.Contains(known, "slow "+m.String())
			if update && !holds || !update && (slow || !every && i%some != 0) {
				continue
			}
			made++
			t.Run(fmt.Sprintf("%s:%d %s", m.file, m.at, m.what), func(t *testing.T) {
				t.Parallel()
				var more []string
				if update {
					more = []string{"--timeout", patience}
				}
				a := m.mutated(m.mutation).lint(t, builtin.All, m.netlist, more...)
				says := ""
				switch {
				case len(a.Netlists) == 0:
					says = "slow " + m.String()
				case len(a.findings()) == 0:
					says = m.String()
				}
				if update {
					mu.Lock()
					unnoticed[i] = says
					mu.Unlock()
					return
				}
				switch silent := says != ""; {
				case holds && silent != slices.Contains(known, m.String()):
					t.Errorf("%s is noticed: %v; UPDATE=1 rewrites what is known", m, !silent)
				case !holds && silent:
					t.Log("no rule notices ", says)
				}
			})
		}
	})
	if !update || t.Failed() {
		return
	}
	var out strings.Builder
	fmt.Fprintf(&out, "Slips of the hand that no rule notices, of %d.\n\n", made)
	for i := range list {
		if unnoticed[i] != "" {
			out.WriteString(unnoticed[i] + "\n")
		}
	}
	if err := os.WriteFile(listed(name), []byte(out.String()), 0o666); err != nil {
		t.Fatal(err)
	}
}
