package parse

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

// What is read follows the SPICE3f3 User's Manual, 2.1, and the Berkeley source; what was meant follows IEC 60062 for the
// letter codes. Every trap has a silent twin.
func TestNotations(t *testing.T) {
	for _, c := range []struct{ card, want string }{
		{"R1 a b 4K7", `"4K7" is read as 4000 ohm, the digits behind the letter being lost; write 4.7K`}, {"R1 a b 4.7K", ""},
		{"R1 a b 4R7", `"4R7" is read as 4 ohm, the digits behind the letter being lost; write 4.7`}, {"R1 a b 4.7R", ""},
		{"R1 a b 4M7", `"4M7" is read as 0.004 ohm, the digits behind the letter being lost; write 4.7MEG`}, {"R1 a b 4.7MEG", ""},
		{"R1 a b 5L0", `"5L0" is read as 5 ohm, the digits behind the letter being lost; write 5.0m`}, {"R1 a b 5m", ""},
		{"C1 a b 4n7", `"4n7" is read as 4e-09 F, the digits behind the letter being lost; write 4.7n`}, {"C1 a b 4.7n", ""},
		{"L1 a b 2u2", `"2u2" is read as 2e-06 H, the digits behind the letter being lost; write 2.2u`}, {"L1 a b 2.2uH", ""},
		{"R1 a b 1M", "M being milli; mega is MEG"}, {"R1 a b {1M}", "M being milli"}, {"R1 a b 1m", ""}, {"R1 a b 1Meg", ""}, {"R1 a b 1mOhm", ""},
		{"R1 a b 1Mohm", "M being milli"}, {"C1 a b 1M", ""},
		{"C1 a b 10F", "F being femto"}, {"C1 a b 10", ""}, {"C1 a b 10uF", ""}, {"C1 a b 1Farad", "F being femto"},
		{"R1 a b 1MILLI", "a mil being 25.4e-6; milli is m"}, {"L1 a b 1MILLI", "a mil"}, {"L1 a b 1m", ""},
		{"R1 a b 10V", `"V" being ignored`}, {"V1 a b 10V", ""}, {"V1 a b 10Volts", ""}, {"I1 a b 10mA", ""}, {"I1 a b 10V", `"V" being ignored`},
		{"R1 a b 1e3", ""}, {"R1 a b 1.", ""}, {"R1 a b 1kOhm", ""}, {"R1 a b 1k\u03a9", ""}, {"V1 a b DC 5 AC 1", ""},
	} {
		set := source.NewSet()
		_, diags := Read(set, set.Add("f", []byte("title\n"+c.card+"\n.end\n"), source.Span{}), Options{})
		switch {
		case c.want == "" && len(diags) > 0:
			t.Errorf("%s: %s", c.card, diags[0].Message)
		case c.want != "" && (len(diags) != 1 || diags[0].Rule != "number-notation" || !strings.Contains(diags[0].Message, c.want)):
			t.Errorf("%s: %+v, want %q", c.card, diags, c.want)
		case c.want != "" && set.Place(diags[0].At).Column != strings.LastIndexByte(c.card, ' ')+2:
			t.Errorf("%s: at %+v", c.card, set.Place(diags[0].At))
		}
	}
}
