package rules_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/rules"
)

const bridge = `* shuntwright: rails.VTRAC = "40 V .. 50 V"
MH VTRAC gh PH PH fet
ML PH gl 0 0 fet
.model fet NMOS
.model pfet PMOS
.model sw SW
`

// Two switches that may close together and then join a rail to another are said; what keeps them apart, or stands in the
// way, is looked for.
func TestShortsAreSaid(t *testing.T) {
	const said = "nothing keeps MH and ML from closing together, which shorts VTRAC to 0"
	for _, c := range []struct {
		name, from, to string
		want           string // "" is silence
	}{
		{"a half bridge", "", "", said},
		{"exclusive", "MH VTRAC", "* shuntwright: elements.MH.exclusive-with = [\"ML\"]\nMH VTRAC", ""},
		{"exclusive the other way round", "MH VTRAC", "* shuntwright: elements.ML.exclusive-with = [\"MH\"]\nMH VTRAC", ""},
		{"complementary, on one gate", "MH VTRAC gh PH PH fet\nML PH gl", "MH PH g VTRAC VTRAC pfet\nML PH g", ""},
		{"complementary, each with its gate", "MH VTRAC gh PH PH fet", "MH PH gh VTRAC VTRAC pfet", said},
		{"shunts and a ferrite in the way", "MH VTRAC gh PH PH fet\nML PH gl 0 0", "RS VTRAC T 1m\nLF T T2 100n\nMH T2 gh PH PH fet\nRG2 S 0 5m\nML PH gl S S", said},
		{"a resistor in the way", "ML PH gl 0 0", "RG2 S 0 1\nML PH gl S S", ""},
		{"a coil in the way", "ML PH gl 0 0", "LC PH N 10u\nML N gl 0 0", ""},
		{"one switch alone", "ML PH gl 0 0 fet", "RX PH 0 1k", ""},
		{"an ammeter", "ML PH gl 0 0", "VM PH N 0\nML N gl 0 0", said},
		{"a rail in between", "MH VTRAC", "* shuntwright: rails.PH = \"20 V\"\nMH VTRAC", ""},
		{"back to back between nets that may be alike", "ML PH gl 0 0", "* shuntwright: rails.OUT = \"30 V .. 45 V\"\nML PH gl OUT OUT", ""},
		{"three in a row", "ML PH gl 0 0", "SX N 0 c 0 sw\nVC c 0 5\nML PH gl N N", "nothing keeps MH, SX and ML from closing together"},
		{"a bipolar transistor", "ML PH gl 0 0 fet", "QL PH gl 0 npn\n.model npn NPN", "nothing keeps MH and QL from closing together"},
	} {
		cards := bridge
		if c.from != "" {
			if !strings.Contains(cards, c.from) {
				t.Fatal(c.name)
			}
			cards = strings.Replace(cards, c.from, c.to, 1)
		}
		var got []string
		for _, text := range rules.Judge(load(t, deck+cards, barge), nil).Cautions {
			if strings.HasPrefix(text, "nothing keeps") {
				got = append(got, text)
			}
		}
		switch {
		case c.want == "" && got != nil, c.want != "" && (len(got) != 1 || !strings.HasPrefix(got[0], c.want)):
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Many of them are counted and not listed, in a time that does not grow with how they hang together.
func TestManyShorts(t *testing.T) {
	var b strings.Builder
	b.WriteString(bridge)
	for i := range 20_000 {
		fmt.Fprintf(&b, "MA%d VTRAC g%d P%d P%d fet\nMB%d P%d h%d P%d P%d fet\n", i, i, i, i, i, i, i, (i+1)%20_000, (i+1)%20_000)
	}
	d := load(t, deck+b.String(), barge)
	began := time.Now()
	cautions := rules.Judge(d, nil).Cautions
	if took := time.Since(began); took > 3*time.Second {
		t.Errorf("it took %v", took)
	}
	if n := len(cautions); n > 6 {
		t.Errorf("%d cautions", n)
	}
	b.Reset()
	b.WriteString(bridge)
	for i := range 9 {
		fmt.Fprintf(&b, "MA%d VTRAC g%d P%d P%d fet\nMB%d P%d h%d 0 0 fet\n", i, i, i, i, i, i, i)
	}
	cautions = rules.Judge(load(t, deck+b.String(), barge), nil).Cautions
	if last := cautions[len(cautions)-1]; len(cautions) != 4 || !strings.HasSuffix(last, "and so for 6 more groups of switches") {
		t.Errorf("%q", cautions)
	}
}
