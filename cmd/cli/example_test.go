package cli_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// The worked design: a cable ferry's winch drive with planted errors, and the same without.
const (
	flawed = "ferry-drive.cir"
	clean  = "ferry-drive-clean.cir"
	strict = "--fail-on=error,warning,note,review,open"
)

// A planted error is a finding that the flawed version must have: its rule, its block, its level, and the card that it
// points at.
type planted struct{ rule, block, level, file, card string }

var errorsPlanted = []planted{
	{"filter-bias-error", "XPA.XS", "error", "phase-sense.inc", "XS INP INM AMP AGND"}, // filter resistors of 1 kohm, in
	{"filter-bias-error", "XPB.XS", "error", "phase-sense.inc", "XS INP INM AMP AGND"}, // the subcircuit that all phases use
	{"sense-polarity", "XPB.XS", "warning", "phase-sense.inc", "XS INP INM AMP AGND"},  // called with its sides exchanged
	{"common-mode-survival", "XBAT", "error", flawed, "XBAT INP_BAT"},                  // a part for lower buses
	{"reference-bias", "XBAT", "error", flawed, "XBAT INP_BAT"},                        // reference pins at ground
	{"common-mode-operating", "XBR", "error", flawed, "XBR INP_BR"},                    // a part for 24 V boards
	{"decoupling", "XBR", "warning", flawed, "XBR INP_BR"},                             // CSR forgotten
	{"recirculation-path", "XCL", "error", flawed, "XCL INP_CL"},                       // the shunt below the switch
	{"floating-pin", "XCL", "error", flawed, "XCL INP_CL"},                             // the second reference pin
	{"temperature-range", "XCL", "error", flawed, "XCL INP_CL"},                        // the part for heated rooms
	{"shunt-pair", "XCH", "error", flawed, "XCH INP_CH"},                               // both legs on one side
	{"supply-range", "XCH", "error", flawed, "XCH INP_CH"},                             // RSC of 120 ohm
	{"reference-impedance", "XFL", "error", flawed, "XFL INP_FL"},                      // a divider without a buffer
	{"shunt-power", "XFL", "error", flawed, "XSHF FL_P"},                               // the smaller of two sizes
	{"filter-bias-error", "XAUX", "warning", flawed, "XAUX INP_AUX"},                   // a resistor in one leg only
	{"trip-window", "XAUX", "error", flawed, "XOC OUT_AUX"},                            // RTX1 a tenth of what it should be
	{"scale-agreement", "XHT", "error", flawed, "XHT INP_HT"},                          // another gain code than firmware takes
	{"adc-overvoltage", "XHT", "error", flawed, "XHT INP_HT"},                          // 220 ohm between 5 V and the converter
	{"floating-pin", "XHT", "error", flawed, "XHT INP_HT"},                             // REN forgotten
	{"clamp-level", "XLA", "error", flawed, "DLA 0 LAMP"},                              // one step too high
	{"current-output-compliance", "XLA", "error", flawed, "XLA V24"},                   // 3.3 V instead of 5 V
	{"output-headroom", "XFAN", "error", flawed, "XFAN FP FN"},                         // an op amp that stops below its supply
	{"digital-range", "XMON", "error", flawed, "XMON V24"},                             // the alert pulled up to 5 V
	{"sibling-mismatch", "XMR", "warning", flawed, "XMR V24"},                          // a shunt of 20 mohm among those of 15 mohm
}

// A deck is a set of files that belong together, by path.
type deck map[string]string

func readDeck(t testing.TB, dir string) deck {
	t.Helper()
	d := deck{}
	err := fs.WalkDir(os.DirFS(dir), ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(path)))
		d[path] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func example(t testing.TB) deck {
	return readDeck(t, filepath.Join("..", "..", "examples", "cable-ferry"))
}

// with is the deck with a text, which stands once in a file, replaced.
func (d deck) with(t testing.TB, path, old, text string) deck {
	t.Helper()
	if n := strings.Count(d[path], old); n != 1 {
		t.Fatalf("%q stands %d times in %s", old, n, path)
	}
	d = maps.Clone(d)
	d[path] = strings.Replace(d[path], old, text, 1)
	return d
}

// without is the deck with one line, counted from 1, deleted.
func (d deck) without(path string, line int) deck {
	d = maps.Clone(d)
	lines := strings.SplitAfter(d[path], "\n")
	d[path] = strings.Join(slices.Delete(lines, line-1, line), "")
	return d
}

// line is the number, from 1, of the one line that begins with a text.
func (d deck) line(t testing.TB, path, begins string) int {
	t.Helper()
	found := 0
	for i, l := range strings.Split(d[path], "\n") {
		if strings.HasPrefix(l, begins) {
			if found > 0 {
				t.Fatalf("%q begins two lines of %s", begins, path)
			}
			found = i + 1
		}
	}
	if found == 0 {
		t.Fatalf("%q begins no line of %s", begins, path)
	}
	return found
}

// save writes the deck into a folder of its own.
func (d deck) save(t testing.TB) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for path, text := range d {
		path = filepath.Join(dir, filepath.FromSlash(path))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

type (
	// A ruling is a result as the JSON output gives it.
	ruling struct {
		Rule, Kind, Level string
		Follows           string // the rule with the root of it
		Block             *string
		Location          struct {
			Path          string
			Line, EndLine int
		}
		Quantities []struct {
			Min, Max, LimitMin, LimitMax, Margin *float64
			From, LimitFrom                      []spot
		}
		Related []struct{ Location spot }
	}
	spot struct {
		Path string
		Line int
	}
	// An answer is what one run of the program says.
	answer struct {
		exit     int
		stderr   string
		Netlists []struct {
			Results  []ruling
			Cautions []string
		}
	}
)

// lint runs the program on a deck.
func (d deck) lint(t testing.TB, rs []*rules.Rule, netlist string, args ...string) (r answer) {
	t.Helper()
	dir := d.save(t)
	var out, errs bytes.Buffer
	args = append([]string{"lint", "--format", "json", "--remedies=false", filepath.Join(dir, netlist)}, args...)
	r.exit = cli.Main(args, cli.Streams{Out: &out, Err: &errs}, rs...)
	r.stderr = errs.String()
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatalf("%v in the output %q, errors %q", err, out.String(), r.stderr)
	}
	clip := func(s *spot) {
		if rel, err := filepath.Rel(dir, s.Path); err == nil {
			s.Path = filepath.ToSlash(rel)
		}
	}
	for _, n := range r.Netlists {
		for i := range n.Results {
			res := &n.Results[i]
			at := spot{Path: res.Location.Path}
			clip(&at)
			res.Location.Path = at.Path
			for _, q := range res.Quantities {
				for k := range q.From {
					clip(&q.From[k])
				}
				for k := range q.LimitFrom {
					clip(&q.LimitFrom[k])
				}
			}
		}
	}
	return r
}

func (r answer) results() (out []ruling) {
	for _, n := range r.Netlists {
		out = append(out, n.Results...)
	}
	return out
}

// findings are the results that a person has to see; what comes of another's root is none.
func (r answer) findings() (out []ruling) {
	return slices.DeleteFunc(r.results(), func(x ruling) bool { return x.Kind == "pass" || x.Kind == "notApplicable" || x.Follows != "" })
}

func (x ruling) block() string {
	if x.Block == nil {
		return ""
	}
	return *x.Block
}

// find is the result of a rule on a block.
func (r answer) find(rule, block string) (ruling, bool) {
	all := r.results()
	i := slices.IndexFunc(all, func(x ruling) bool { return x.Rule == rule && x.block() == block })
	if i < 0 {
		return ruling{}, false
	}
	return all[i], true
}

var card = regexp.MustCompile(`(?m)^[A-Za-z]\w* `)

func TestExampleSize(t *testing.T) {
	d := example(t)
	for _, netlist := range []string{flawed, clean} {
		_, cards, _ := strings.Cut(d[netlist], "\n") // the first line is the title
		if n := len(card.FindAllString(cards, -1)); n < 60 {
			t.Errorf("%s has %d elements, want 60", netlist, n)
		}
	}
}

func TestExampleFindings(t *testing.T) {
	d := example(t)
	var want, got []string
	for _, p := range errorsPlanted {
		want = append(want, fmt.Sprintf("%s %s fail %s %s:%d", p.block, p.rule, p.level, p.file, d.line(t, p.file, p.card)))
	}
	r := d.lint(t, builtin.All, flawed, "--remedies=true") // which tell what comes of what
	for _, f := range r.findings() {
		got = append(got, fmt.Sprintf("%s %s %s %s %s:%d", f.block(), f.Rule, f.Kind, f.Level, f.Location.Path, f.Location.Line))
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("the flawed version finds\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if r.exit != cli.ExitBreach {
		t.Errorf("the flawed version exits %d", r.exit)
	}
	kinds := map[string]bool{}
	for _, p := range errorsPlanted {
		kinds[p.rule+" "+p.file+" "+p.card] = true
	}
	if len(kinds) < 20 {
		t.Errorf("%d different errors are planted, want 20", len(kinds))
	}
}

func TestExampleClean(t *testing.T) {
	r := example(t).lint(t, builtin.All, clean, strict)
	for _, f := range r.findings() {
		t.Errorf("%s %s: %s", f.block(), f.Rule, f.Kind)
	}
	if r.exit != cli.ExitClean {
		t.Errorf("exit code %d: %s", r.exit, r.stderr)
	}
	if c := strings.Join(r.Netlists[0].Cautions, "\n"); !strings.Contains(c, "60 V DC") || !strings.Contains(c, "PHASE_A") || !strings.Contains(c, "72.") {
		t.Errorf("the bus may rise above 60 V and nobody is warned: %q", c)
	}
	for _, x := range r.results() { // a pass has numbers under it
		for _, q := range x.Quantities {
			if q.Min == nil && q.Max == nil || q.Margin == nil && (q.LimitMin != nil || q.LimitMax != nil) {
				t.Errorf("%s %s passes without a bound", x.block(), x.Rule)
			}
		}
	}
}

// A slip is a planted error with the one value that makes it. The limit is worked out here, from the numbers of the
// records and the intent, by hand.
type slip struct {
	rule, block string
	limit       float64
	above       bool // a finding stands above the limit, below it otherwise
	at          func(t *testing.T, d deck, v float64) deck
}

// onCard puts the value at the end of a card.
func onCard(file, head, old string) func(*testing.T, deck, float64) deck {
	return func(t *testing.T, d deck, v float64) deck {
		return d.with(t, file, head+" "+old+"\n", fmt.Sprintf("%s %.9g\n", head, v))
	}
}

func slips() []slip {
	const (
		tol    = 0.01  // tolerances.resistors
		shunt  = 0.005 // elements.RSH_BAT.tolerance
		drift  = 75e-6 * 50
		offset = 72e-6 // ferry-sense offset.max, V
		bias   = 11e-6 // ferry-sense bias.max where the bus is, A
		uneven = 0.3e-6
	)
	inBothLegs := func(t *testing.T, d deck, v float64) deck {
		d = onCard("phase-sense.inc", "RFP BRIDGESIDE INP", "1k")(t, d, v)
		return onCard("phase-sense.inc", "RFM MOTORSIDE INM", "1k")(t, d, v)
	}
	return []slip{
		// 3.3 V - 2 % less what 2.6 mA drop over the resistor must leave 3.1 V.
		{"supply-range", "XCH", (3.3*0.98 - 3.1) / 2.6e-3 / (1 + tol), true, onCard(flawed, "RSC V3V3 VS_CH", "120")},
		// The coil freewheels to 58 V and a drop of 1.1 V; in+ stands above that by 2.3 A in the shunt.
		{"common-mode-operating", "XBR", 58 + 1.1 + 2.3*20e-3*(1+tol), false, func(t *testing.T, d deck, v float64) deck {
			return d.with(t, "parts/ferry.toml", `"-2 V .. 46 V"`, fmt.Sprintf(`"-2 V .. %.9g V"`, v))
		}},
		// 70 V on the bus and 400 A back through the shunt; within a tenth of the rating is a warning.
		{"common-mode-survival", "XBAT", (70 + 400*0.5e-3*(1+shunt)*(1+drift)) / 0.9, false, func(t *testing.T, d deck, v float64) deck {
			return d.with(t, "parts/ferry.toml", `"ground - 13 V .. 66 V"`, fmt.Sprintf(`"ground - 13 V .. %.9g V"`, v))
		}},
		// The zero must carry 60 A, the offset and what the bias currents' difference makes of a filter resistor, down to 42 mV.
		{"reference-bias", "XBAT", func() float64 {
			gain, inner := 32*1.0027, 5.1e3*1.2
			arrives := inner / (inner + 2*10*(1-tol))
			return 0.042 + gain*(60*0.5e-3*(1+shunt)*(1+drift)*arrives+88e-6+0.4e-6*10*(1+tol))
		}(), false, func(t *testing.T, d deck, v float64) deck {
			d = d.with(t, flawed, "XBAT INP_BAT INM_BAT OUT_BAT 0 0 0 ", fmt.Sprintf("VZERO ZERO 0 %.9g\nXBAT INP_BAT INM_BAT OUT_BAT 0 ZERO ZERO ", v))
			d["ferry-drive.intent.toml"] += fmt.Sprintf("\n[rails.ZERO]\noperating = \"%.9g V exact\"\nsurvival = \"0 V .. 3 V\"\n", v)
			return d
		}},
		// Half the spread of Rd / (Rd + 2 Rf) may be a third of the goal of 2.5 %; Rd is known to 18 %.
		{"filter-gain-error", "XPA.XS", solve(func(rf float64) float64 {
			k := func(d, f float64) float64 { return 6.2e3 * d / (6.2e3*d + 2*rf*f) }
			return (k(1.18, 1-tol)-k(0.82, 1+tol))/2/k(1, 1) - 0.025/3
		}), true, inBothLegs},
		// The bias over the difference of the legs and its mismatch over their mean may make a fifth of the offset.
		{"filter-bias-error", "XPB.XS", 0.2 * offset / (bias*2*tol + uneven), true, inBothLegs},
		{"filter-bias-error", "XAUX", 0.2 * offset / (1 + tol) / (bias + uneven/2), true, onCard(flawed, "RFX1 VTRAC INP_AUX", "10")},
		// 11.5 A effective in 4 mohm, 0.5 % and 60 ppm/K over 50 K; more than 60 % of the rating is a warning.
		{"shunt-power", "XFL", 11.5 * 11.5 * 4e-3 * 1.005 * (1 + 60e-6*50) / 0.6, false, func(t *testing.T, d deck, v float64) deck {
			return d.with(t, "parts/ferry.toml", "power = \"0.5 W\"\n", fmt.Sprintf("power = \"%.9g W\"\n", v))
		}},
		// 5 V + 2 % before what survives 3.3 V - 2 % and 0.3 V more, 2 mA allowed.
		{"adc-overvoltage", "XHT", (5*1.02 - 3.3*0.98 - 0.3) / 2e-3 / (1 - tol), false, onCard(flawed, "ROH OUT_HT ADC_HT", "220")},
		// 2.4 A in 20 mohm and the offset, times 1.9 mA/V, may make 3.3 V - 2 % less 1.1 V.
		{"current-output-compliance", "XLA", (3.3*0.98 - 1.1) / (1.9e-3 * 1.011 * (2.4*20e-3*(1+tol) + 0.6e-3)) / (1 + tol), true,
			onCard(flawed, "RLL OUT_LA 0", "27k")},
		// The output stops 90 mV and what 2.6 mA drop over RSX below the supply; the threshold stands above its divider by
		// 3.5 mV of offset and half of 6 mV of hysteresis. Both hang on one supply, and are nearest where that is lowest.
		{"trip-window", "XAUX", func() float64 {
			part := (90e-3 + 2.6e-3*10*(1+tol) + 3.5e-3 + 3e-3) / (3.3 * 0.98) // of the supply that the upper resistor must take
			return part / (1 - part) * 10e3 * (1 + tol) / (1 - tol)
		}(), false, onCard(flawed, "RTX1 V3V3 TH_AUX", "270")},
	}
}

// solve is where a rising function is zero.
func solve(f func(float64) float64) float64 {
	lo, hi := 1e-3, 1e6
	for range 200 {
		if m := math.Sqrt(lo * hi); f(m) < 0 {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

func TestExampleLimits(t *testing.T) {
	t.Parallel()
	d := example(t)
	for _, s := range slips() {
		t.Run(s.block+" "+s.rule, func(t *testing.T) {
			t.Parallel()
			for _, side := range []struct {
				v    float64
				high bool
			}{{s.limit * 0.995, false}, {s.limit * 1.005, true}} {
				r := s.at(t, d, side.v).lint(t, only(s.rule), flawed)
				got, ok := r.find(s.rule, s.block)
				want := "pass"
				if side.high == s.above {
					want = "fail"
				}
				if !ok || got.Kind != want {
					t.Errorf("at %.5g (the limit is %.5g): %q, want %q", side.v, s.limit, got.Kind, want)
				}
			}
		})
	}
}

// only is the rules of these ids.
func only(ids ...string) (out []*rules.Rule) {
	for _, r := range builtin.All {
		if slices.Contains(ids, r.ID) {
			out = append(out, r)
		}
	}
	return out
}

// TestExamplePlaces moves each planted error and looks where the finding goes.
func TestExamplePlaces(t *testing.T) {
	t.Parallel()
	d := example(t)
	const three = "* one\n* two\n* three\n"
	for _, p := range errorsPlanted {
		t.Run(p.block+" "+p.rule, func(t *testing.T) {
			t.Parallel()
			at := d.line(t, p.file, p.card)
			text := strings.Split(d[p.file], "\n")[at-1]
			place := func(d deck) (first, last int) {
				got, _ := d.lint(t, only(p.rule), flawed).find(p.rule, p.block)
				if got.Kind != "fail" || got.Location.Path != p.file {
					t.Errorf("%s in %s", got.Kind, got.Location.Path)
				}
				return got.Location.Line, got.Location.EndLine
			}
			start, end := place(d)
			if start != at {
				t.Errorf("line %d, the card is in line %d", start, at)
			}
			if s, e := place(d.with(t, p.file, text+"\n", three+text+"\n")); s != start+3 || e != end+3 {
				t.Errorf("three comments before the card: lines %d to %d, want %d to %d", s, e, start+3, end+3)
			}
			words := strings.Fields(text)
			split := words[0] + "\n+ " + words[1] + "\n+ " + words[2] + "\n+ " + strings.Join(words[3:], " ")
			if s, e := place(d.with(t, p.file, text+"\n", split+"\n")); s != start || e != end+3 {
				t.Errorf("the card on three lines more: lines %d to %d, want %d to %d", s, e, start, end+3)
			}
		})
	}
}

// A sparing lets lines be deleted and rules pass all the same, for a reason.
type sparing struct {
	lines   []string // by their beginnings
	rules   []string // nil is any
	reports string   // a trouble that the run must report instead; "" for none
	why     string
}

var (
	commonMode = []string{"common-mode-operating", "common-mode-survival", "input-undershoot"}
	filterBias = []string{"filter-bias-error"}
	zeros      = []string{"reference-bias", "reference-range", "pin-beyond-supply", "output-headroom", "output-floor"}
	sparings   = []sparing{
		{[]string{"RCHOP "}, []string{"differential-survival"}, "",
			"with the chopper's resistor gone nothing drives a fault through its shunt"},
		{[]string{"range = ", "operating = \"40 V .. 58 V\""}, filterBias, "",
			"whatever the common mode, the bias stays within the points of its curve"},
		{[]string{`"XPA.XS" = {`, `"XPB.XS" = {`, "XBAT = {", "XBR = {", "XCL = {", "XCH = {", "XFL = {", "XAUX = {", "XHT = {", "XLA = {", "XFAN = {"}, nil, "",
			"without a goal less is asked: the default, and the share of the part's own offset"},
		{[]string{"trip = "}, []string{"digital-range"}, "",
			"no alert is asked for then"},
		{[]string{"damage = "}, []string{"trip-window", "trip-let-through"}, "",
			"the trip must come before the declared fault, which is as large"},
		{[]string{"rms = "}, []string{"shunt-power"}, "",
			"the largest current of the range counts as flowing all the time"},
		{[]string{"RSH_A = {", "RSH_B = {", "RSH_BAT = {", "RM1 = {", "RM2 = {", "RD1 = {"}, nil, "",
			"the tolerance of all resistors counts instead, and is wider"},
		{[]string{"temperature-coefficient = "}, nil, "",
			"a tolerance without a drift is taken to hold over temperature, as that of every other resistor here"},
		{[]string{"temperature = ", "clamp.temperature-coefficient = "}, []string{"clamp-leakage", "clamp-level", "surge-event"}, "",
			"it holds from -40 degC to 125 degC and for any drift that clamps have"},
		{[]string{`"XHA.`, `"XHB.`, `"XHC.`, `"XHF.`, `"XHG.`, "MBR = {", "MCL = {", "MCH = {", "DFW = {", "DFC = {", "DCHOP = {"}, nil, "",
			"it holds over the whole range that is counted for a drop and an on-resistance that nobody declared"},
		{[]string{"stray-inductance = ", "slope = ", "survival = \"0 V .. 70 V\""}, commonMode, "",
			"one of the three asks for it, and the others hold without"},
		{[]string{"bias.mismatch = "}, nil, "",
			"without a mismatch the two bias currents count as if they had nothing to do with each other, which is wider"},
		{[]string{"RFB1 ", "RFC1 ", "RFC2 ", "RFX1 ", "RFX2 ", "RSH_"}, commonMode, "",
			"the resistance between the amplifier's inputs still ties the pin; the channel has no shunt then, and is undecided"},
		{[]string{"RM1 ", "RM2 ", "RADCREF "}, append(zeros, "scale-agreement", "reference-impedance"), "",
			"another load on the reference: it stands elsewhere, and pin and output still stay inside their ranges"},
		{[]string{"RREF ", "RBUF ", "RMF1 "}, []string{"scale-agreement", "reference-impedance", "reference-pair", "ratiometric-mismatch"}, "",
			"nothing lifts the reference from ground then: the zero and what firmware takes for it go there together, which reference-bias tells"},
		{[]string{"reference.resistance = "}, []string{"reference-impedance"}, "",
			"behind a buffer it does not matter what the reference pin of another part takes"},
		{[]string{"differential.survival = "}, []string{"differential-survival"}, "",
			"what a part measures it survives, and the fault stays inside that"},
		{[]string{"RD2 "}, []string{"op-amp-input-range", "passive-rating"}, "",
			"the pin stands at the shunt then, inside its range; resistor-match tells of the network"},
		{[]string{"CFP ", "CFM ", "CFD "}, []string{"shunt-inductance"}, "",
			"what is left of the filter takes enough of the overshoot away"},
		{[]string{"RTX1 ", "RTX2 "}, []string{"trip-let-through"}, "",
			"the threshold stands at ground or the supply then, and always or never trips: trip-window tells"},
		{[]string{"clamp.standoff = ", "clamp.breakdown = "}, []string{"clamp-leakage"}, "",
			"either of the two is above what the clamp sees"},
		{[]string{"bias.max = "}, []string{"output-floor"}, "",
			"what bias currents add behind the filter is filter-bias-error's to ask for"},
		{[]string{"RCHOP "}, []string{"differential-survival"}, "",
			"nothing stands at the shunt then that a short could put across it"},
		{[]string{"power = "}, []string{"shunt-pulse-energy"}, "",
			"the pulse rating is enough, without what the continuous power adds"},
		{[]string{"rated.ambient = \"0 degC .. 70 degC\""}, []string{"temperature-range"}, "",
			"without the line the order code is no selection, and has the range of its series"},
		{[]string{"reference.split = "}, []string{"reference-impedance"}, "",
			"however the part divides them, the few ohm before its reference pins move nothing"},
		{[]string{"CV1 ", "CV2 ", "CSN ", "CMON ", "CMR ", "COC1 ", "CS1 ", "CS2 ", "CSC1 ", "CSC2 ", "C51 ", "C52 ", "CSA "}, []string{"decoupling"}, "",
			"another capacitor stands at the pin"},
		{[]string{"MH BUS ", "ML PHASE ", "MBR BRSW ", "MCL CLO ", "MCH NCHOP "}, nil, "intent-name",
			"intent names what is no longer there, and the run says so"},
	}
)

// spares is the sparing under which a rule may pass without a line; -1 for none.
func spares(text, rule string, after answer) int {
	return slices.IndexFunc(sparings, func(s sparing) bool {
		return slices.ContainsFunc(s.lines, func(l string) bool { return strings.HasPrefix(text, l) }) && (s.rules == nil || slices.Contains(s.rules, rule)) &&
			(s.reports == "" || slices.ContainsFunc(after.findings(), func(x ruling) bool { return x.Rule == s.reports }))
	})
}

// TestExampleEveryLine deletes lines of the inputs, one at a time. What did not pass must not pass then, and what passed
// must not pass any more where its evidence names the line. Of the pairs of a line and a rule whose evidence names it one
// in eight is judged, of the lines that no evidence names one in 32, of the headers of records one in three;
// EVERY_LINE=1 in the environment judges every pair, EVERY_LINE=all every rule without each line.
func TestExampleEveryLine(t *testing.T) {
	t.Parallel()
	d := example(t)
	every := os.Getenv("EVERY_LINE")
	used := make([]atomic.Bool, len(sparings))
	t.Cleanup(func() { // after the parallel tests below
		for i := range used {
			if every != "" && !used[i].Load() {
				t.Errorf("nothing needs the sparing of %s: %s", strings.Join(sparings[i].lines, ", "), sparings[i].why)
			}
		}
	})
	for _, netlist := range []string{clean, flawed} {
		base := d.lint(t, builtin.All, netlist)
		for _, file := range d.inputs(netlist) {
			for i, text := range strings.Split(strings.TrimSuffix(d[file], "\n"), "\n") {
				at := spot{file, i + 1}
				judged := base.judging(at, netlist == flawed)
				named := len(judged) > 0
				if every == "" {
					judged = slices.DeleteFunc(judged, func(r *rules.Rule) bool { return (i+slices.Index(builtin.All, r))%8 != 0 })
				}
				switch {
				case every == "all":
					judged = builtin.All
				case len(judged) > 0:
				case netlist == flawed && !named && (i%32 == 0 || i%3 == 0 && strings.HasPrefix(text, "[[")):
					judged = builtin.All
				default:
					continue
				}
				t.Run(fmt.Sprintf("%s for %s:%d", netlist, file, i+1), func(t *testing.T) {
					t.Parallel()
					after := d.without(file, i+1).lint(t, judged, netlist)
					for _, x := range after.results() {
						before, ok := base.find(x.Rule, x.block())
						if x.Kind != "pass" || !ok || before.Kind == "pass" && !before.rests(at) {
							continue
						}
						if k := spares(text, x.Rule, after); k >= 0 {
							used[k].Store(true)
							continue
						}
						t.Errorf("without %q %s %s passes; with it the result is %s", text, x.block(), x.Rule, before.Kind)
					}
				})
			}
		}
	}
}

// inputs are the files of the deck that a netlist is read with.
func (d deck) inputs(netlist string) (files []string) {
	intent := strings.TrimSuffix(netlist, filepath.Ext(netlist)) + ".intent.toml"
	for path := range d {
		if path == netlist || path == intent || strings.HasPrefix(path, "parts/") || strings.Contains(d[netlist], ".include "+path+"\n") {
			files = append(files, path)
		}
	}
	slices.Sort(files)
	return files
}

// judging are the rules with a result whose evidence names a line: a pass, or else a finding.
func (r answer) judging(at spot, findings bool) []*rules.Rule {
	var ids []string
	for _, x := range r.results() {
		card := x.Location.Path == at.Path && x.Location.Line <= at.Line && at.Line <= x.Location.EndLine
		if (x.Kind == "fail") == findings && (x.rests(at) || card) {
			ids = append(ids, x.Rule)
		}
	}
	return only(ids...)
}

// rests tells that a number of the result comes from a line.
func (x ruling) rests(at spot) bool {
	for _, q := range x.Quantities {
		if slices.Contains(q.From, at) || slices.Contains(q.LimitFrom, at) {
			return true
		}
	}
	return false
}
