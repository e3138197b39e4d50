package house_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// What rules say comes out as the verdict it stands for.
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		body string
		kind rules.Kind
		says string
	}{
		{`say.breach("a bad name", at = block.shunt[0])`, rules.KindFail, "a bad name"},
		{`say.holds("a good name")`, rules.KindPass, "a good name"},
		{`say.holds_if("only if RSH is wound")`, rules.KindReview, "only if RSH is wound"},
		{`say.missing("goals.XA.error")`, rules.KindOpen, "cannot be judged without goals.XA.error"},
		{`say.skip("no winch")`, rules.KindNotApplicable, "no winch"},
		{"say.breach(\"bad\")\nsay.skip(\"never mind\")", rules.KindFail, "bad"},
		{"say.holds()\nsay.breach(\"bad\")\nsay.holds(\"good\")", rules.KindFail, "bad"},
		{"say.breach(\"bad\")\nif block.circuit.net(\"VM\").voltage() < volt(2.5):\n    say.holds()", rules.KindFail, "bad"}, // straddles: what was said stays
		{`pass`, rules.KindOpen, "the rule says nothing about this block"},
		// 1 mohm with 1 % is at most 1.01 mohm
		{`say.at_most(block.shunt_resistance, "1.02 mohm")`, rules.KindPass, "holds"},
		{`say.at_most(block.shunt_resistance, "1.005 mohm", name = "the shunt")`, rules.KindFail, "the shunt reaches 1.010 mohm, the house allows at most 1.005 mohm"},
		{`say.at_least(block.shunt_resistance, ohm(0.00101))`, rules.KindFail, "at least 1.010 mohm"},
		{`say.within(block.shunt_resistance, "0.9 mohm .. 1.1 mohm")`, rules.KindPass, "holds"},
		{`say.within(block.voltage("supply"), block.part.limits("supply.operating"))`, rules.KindPass, "holds"},
		{`say.within(block.voltage("in+"), "0 V", volt(39), message = "{reach} is beyond {limit}")`, rules.KindFail, "is beyond 39.00 V"},
		// 20 A through 1.01 mohm make 20.2 mV
		{`say.at_most(block.current().peak * block.shunt_resistance, "20.3 mV")`, rules.KindPass, "holds"},
		{`say.at_most(block.current().peak * block.shunt_resistance, "20.1 mV")`, rules.KindFail, "20.20 mV"},
		// 400 A2 x 1.01 mohm make 0.404 W
		{`i = block.current()
say.at_most(i * i * block.shunt_resistance, "0.405 W")`, rules.KindPass, "holds"},
		{`i = block.current()
say.at_most(i * i * block.shunt_resistance, "0.403 W", name = "power")`, rules.KindFail, "power reaches"},
		// half the supply, both resistors alike: 0.495 to 0.505 of it
		{`c = block.circuit
ra, rb = c.element("RA").resistance, c.element("RB").resistance
say.within(rb / (ra + rb), ratio(0.4949), ratio(0.5051))`, rules.KindPass, "holds"},
		{`c = block.circuit
ra, rb = c.element("RA").resistance, c.element("RB").resistance
say.within(rb / (ra + rb), ratio(0.4951), ratio(0.51))`, rules.KindFail, "49.50 %"},
		{`say.at_most(block.circuit.net("VM").voltage(), "2.6 V")`, rules.KindPass, "holds"},
		{`say.at_most(block.intent.get("currents", "RSH", "range").peak, amp(19))`, rules.KindFail, "20.00 A"},
		{`say.at_most(block.part.get("supply.current"), "1.3 mA")`, rules.KindPass, "holds"},
		// 4.9 V less 22 ohm and 1 % times 1.3 mA less 80 mV make 4.791 V
		{`say.at_least(block.part.get("output.high"), "4.79 V")`, rules.KindPass, "holds"},
		{`say.at_least(block.part.get("output.high"), "4.8 V")`, rules.KindFail, "4.791 V"},
		// 49.5 % of 4.9 V make 2.4255 V, 50.5 % of 5.1 V 2.5755 V
		{`say.within(block.zero(), "2.42 V .. 2.58 V")`, rules.KindPass, "holds"},
		// 20 A through 1.01 mohm times 30 V/V and 0.4 % make 0.61 V on either side, less what the filter takes
		{`say.within(block.out(), "1.8 V .. 3.2 V")`, rules.KindPass, "holds"},
		{`say.at_most(block.out(), "3 V")`, rules.KindFail, "at most 3.000 V"},
		{`say.at_most(block.voltage("in+", "survival"), "40.02 V")`, rules.KindPass, "holds"},
		{`say.at_most(block.shunt[0].current("survival").peak, "20 A")`, rules.KindPass, "holds"},
		{`say.at_most(block.circuit.element("RL").current(), "10.2 A")`, rules.KindPass, "holds"},
		{`say.at_most(block.part.get("gain"), block.part.get("gain"))`, rules.KindPass, "holds"},
		{`say.at_most(block.part.get("cmrr.min"), "100 dB")`, rules.KindOpen, "cmrr.min"},
	} {
		if r := one(t, c.body); r.Kind != c.kind || !strings.Contains(r.Message, c.says) {
			t.Errorf("%s: %s %v %q, want %v %q", c.body, r.Rule, r.Kind, r.Message, c.kind, c.says)
		}
	}
}

// A comparison answers where every allowed state says the same; otherwise the rule ends undecided, and never one way.
func TestComparisons(t *testing.T) {
	for cond, want := range map[string]rules.Kind{
		`block.shunt_resistance < "0"`:                                     rules.KindFail, // a text is no quantity
		`block.shunt_resistance < ohm(0.002)`:                              rules.KindPass,
		`block.shunt_resistance > "1 mohm"`:                                rules.KindFail,
		`block.shunt_resistance > ohm(0.001)`:                              rules.KindOpen, // straddles
		`block.shunt[0].value == ohm("1 mohm")`:                            rules.KindPass,
		`block.shunt[0].value == "1 mohm"`:                                 rules.KindFail,
		`block.shunt[0].value == 0.001`:                                    rules.KindFail,
		`block.shunt[0].value != 0.001`:                                    rules.KindFail,
		`block.shunt[0].value != ohm(2)`:                                   rules.KindPass,
		`block.shunt[0].value < volt(2)`:                                   rules.KindFail, // another unit
		`block.shunt[0].value == volt(2)`:                                  rules.KindFail,
		`block.shunt[0].value + volt(2) == volt(3)`:                        rules.KindFail,
		`block.shunt_resistance`:                                           rules.KindFail, // neither true nor false
		`block.intent.get("goals", "XA", "error") == None`:                 rules.KindPass,
		`block.part.get("offset.drift") < quantity("1 V")`:                 rules.KindFail,
		`block.part.get("psrr.max") < ratio(1)`:                            rules.KindOpen, // missing
		`block.circuit.net("VM") == block.pins["ref"]`:                     rules.KindPass,
		`block.circuit.net("VM") == "VM"`:                                  rules.KindFail,
		`block.voltage("in+") - block.voltage("in-") < quantity("21 mV")`:  rules.KindPass, // they move together
		`like("R*", block.shunt[0].path)`:                                  rules.KindPass,
		`block.shunt[0].resistance.high.number < 0.00102`:                  rules.KindPass,
		`block.shunt[0] in block.circuit.elements(kinds = "R", like="*H")`: rules.KindPass,
	} {
		r := one(t, "if "+cond+":\n    say.holds()\nelse:\n    say.breach(\"no\")")
		if r.Kind != want || want == rules.KindFail && r.Rule != "house-rule" {
			t.Errorf("%s: %s %v %q, want %v", cond, r.Rule, r.Kind, r.Message, want)
		}
	}
}

// A finding stands at the element that it is about, with evidence and a remedy.
func TestFindingIsComplete(t *testing.T) {
	rep, list := judged(t, winch, rule("probe", `rs = block.supply_series[0]
say.at_most(rs.resistance, "10 ohm", at = rs, name = "supply resistor", lower = [rs], evidence = [(block.shunt[0], "the shunt")], remedy = "leave it out")`))
	r := list[0]
	if p := rep.Design.Src.Place(r.At); p.Line != 12 {
		t.Errorf("it stands at %v", p)
	}
	// 10 ohm less 1 % of tolerance is 9.90 ohm
	if r.Remedy == nil || r.Remedy.Text != "RS at most 9.9 ohm" || r.Advice != "leave it out" {
		t.Errorf("remedy %+v, advice %q", r.Remedy, r.Advice)
	}
	if len(r.Related) != 1 || r.Related[0].Message != "RSH: the shunt" || len(r.Measures) != 1 || r.Measures[0].Margin > -12 || len(r.Measures[0].From) == 0 {
		t.Errorf("%+v", r)
	}
}

// Walking the circuit.
func TestWalking(t *testing.T) {
	for expr, want := range map[string]string{
		`[n.name for n in block.circuit.net("VM").neighbours("R")]`:                           `["V5", "0"]`,
		`[e.path for e in block.circuit.net("V5").elements()]`:                                `["RA", "RS"]`,
		`[e.path for e in block.circuit.path(block.pins["in+"], block.pins["in-"], "R")]`:     `["RFP", "RSH", "RFM"]`,
		`block.circuit.path(block.pins["in+"], block.pins["in-"], "C")`:                       `None`,
		`[e.path for e in block.circuit.elements(kinds = "R", like = "RF?")]`:                 `["RFP", "RFM"]`,
		`[e.path for e in block.plus.series + block.minus.series]`:                            `["RFP", "RFM"]`,
		`(block.plus.pin.name, block.plus.shunt.name, [n.name for n in block.plus.nets])`:     `("INP", "BUS", ["INP"])`,
		`[(r.role, r.net.name) for r in block.references]`:                                    `[("ref", "VM")]`,
		`(block.name, block.kind, block.part.name, block.amplifier.part, block.unit)`:         `("XA", "sense-amplifier", "barge-30", "barge-30", None)`,
		`sorted(block.pins.keys())`:                                                           `["ground", "in+", "in-", "out", "ref", "supply"]`,
		`(block.circuit.net("vm"), block.circuit.net("gnd"), block.circuit.element("rsh"))`:   `(VM, 0, RSH)`,
		`[b.name for b in block.circuit.blocks()]`:                                            `["XA"]`,
		`(block.circuit.element("NONE"), block.circuit.net("NONE"))`:                          `(None, None)`,
		`(block.shunt[0].kind, block.shunt[0].value, block.shunt[0].other(block.plus.shunt))`: `("R", 1 mohm, LOAD)`,
		`block.intent.get("currents", "RSH", "from")`:                                         `"BUS"`,
		`block.shunt_resistance.origins`:                                                      `["deck.cir:6 RSH"]`,
		`(ohm(10), quantity("10 mV"), quantity("4 V .. 5 V"), ohm(2) * amp(3), volt(1) / 2)`:  `(10 ohm, 10 mV, 4 V .. 5 V, 6 V, 0.5 V)`,
	} {
		if r := one(t, `say.holds(repr(`+expr+`))`); r.Message != want {
			t.Errorf("%s: %s %s, want %s", expr, r.Rule, r.Message, want)
		}
	}
}

// Blocks are judged at the same time by several children; the results are those of one after the other. A rule that is stopped
// has judged no block, wherever it was stopped.
func TestResultsAreSteady(t *testing.T) {
	texts := append(twenty(), rule("late", "if block.name == \"XA7\":\n    for i in range(1 << 62):\n        pass\nsay.holds()"),
		rule("slips", "say.holds(block.name[4])"))
	var before string
	for range 3 {
		rep, list := judged(t, fleet(30), texts...)
		var b strings.Builder
		for _, r := range list {
			fmt.Fprintln(&b, rep.Design.Src.Place(r.At).Line, r.Block, r.Rule, r.Kind, r.Message)
			if r.Rule == "house/late" && r.Kind != rules.KindOpen {
				t.Errorf("%s %s: %v", r.Rule, r.Block, r.Kind)
			}
		}
		if before != "" && before != b.String() {
			t.Errorf("once\n%s\nand then\n%s", before, b.String())
		}
		if before = b.String(); strings.Count(before, " house-rule fail ") != 2 || !strings.Contains(before, "(on XA0)") || len(list) != 2+30*22 {
			t.Fatalf("%d results:\n%.2000s", len(list), before)
		}
	}
}

// What is missing never reads as a pass, whatever a rule does with it.
func TestMissingNeverPasses(t *testing.T) {
	bare := strings.Replace(winch, `* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }`+"\n", "", 1)
	noShunt := strings.Replace(bare, "RSH BUS LOAD 1m", "VSH BUS LOAD 0", 1)
	both := strings.Replace(winch, `, from = "BUS"`, "", 1) // the direction is missing
	for _, c := range []struct{ cards, body string }{
		{bare, `say.at_most(block.current(), amp(1e9))`},
		{bare, `say.at_most(block.current().peak, amp(1e9))`},
		{bare, `say.at_most(block.current().spread, ratio(1e9))`},
		{bare, "i = block.current()\nsay.at_most(i * i * block.shunt_resistance, watt(1e9))"},
		{bare, `say.at_most(volt(1) / block.current(), ohm(1e9))`},
		{bare, `say.at_least(block.current() - block.current() * 2, amp(-1e9))`},
		{bare, "if block.current() < amp(1e9):\n    say.holds()"},
		{bare, "if block.current().high < amp(1e9):\n    say.holds()"},
		{bare, "if block.current().nominal.number < 1e9:\n    say.holds()"},
		{noShunt, `say.at_most(block.shunt_resistance, ohm(1e9))`},
		{noShunt, `say.at_most(ohm(1) / block.shunt_resistance, ratio(1e9))`},
		{both, `say.at_most(volt(1) / block.current(), ohm(1e9))`},
		{winch, `say.at_most(volt(1) / block.current(), ohm(1e9))`}, // 0 A is among -20 A .. 20 A
		{winch, `say.at_least(block.current() * block.current(), amp(1) * amp(1))`},
		{winch, `say.at_most(block.part.get("rated.theta-ja"), block.part.get("rated.theta-ja") * 2)`},
		{winch, `say.at_most(block.intent.get("goals", "XA", "error") or block.part.get("psrr.max"), ratio(1e9))`},
		{winch, `say.at_most(block.circuit.element("XA").current(), amp(1e9))`},
		{strings.Replace(winch, "RA V5 VM 1k", "RA V5 VM {nobody}", 1), `say.at_most(block.circuit.element("RA").resistance, ohm(1e9))`},
		{strings.Replace(winch, "RA V5 VM 1k", "RA V5 VM {nobody}", 1), `say.at_most(block.circuit.net("VM").voltage(), volt(1e9))`},
	} {
		d, _ := bind(c.cards)
		s := open(t, rule("probe", c.body))
		for _, r := range rules.Judge(d, s.List()).Results {
			if r.Rule == "house/probe" && r.Kind < rules.KindReview {
				t.Errorf("%s: %v %s", c.body, r.Kind, r.Message)
			}
		}
	}
}

// A rule about the circuit is judged once, whether there is a block or not, beside those about blocks.
func TestRulesAboutTheCircuit(t *testing.T) {
	whole := func(id, body string) string {
		text := "def judge(circuit, say):\n"
		for line := range strings.SplitSeq(body, "\n") {
			text += "    " + line + "\n"
		}
		return text + fmt.Sprintf("house_rule(api = 1, id = \"house/%s\", title = \"t\", level = \"error\", page = \"p\", about = \"circuit\", judge = judge)\n", id)
	}
	for _, c := range []struct {
		body string
		kind rules.Kind
		says string
	}{
		{`say.breach("too many resistors", at = circuit.elements("R")[0])`, rules.KindFail, "too many resistors"},
		{`say.holds("fine")`, rules.KindPass, "fine"},
		{`pass`, rules.KindOpen, "the rule says nothing about this circuit"},
		{`say.at_most(circuit.net("VM").voltage(), "2.6 V")`, rules.KindPass, "holds"},
		{`say.at_most(circuit.net("VM").voltage(), "2.5 V", name = "VM")`, rules.KindFail, "VM reaches"},
		{`say.at_most(circuit.intent.get("currents", "RSH", "range").peak, amp(19))`, rules.KindFail, "20.00 A"},
		{`say.holds("%d blocks" % len(circuit.blocks()))`, rules.KindPass, "1 blocks"},
		{`say.at_most(circuit.blocks()[0].shunt_resistance, "1 ohm")`, rules.KindFail, ""}, // of another block: an error of the rule
	} {
		_, list := judged(t, winch, whole("whole", c.body), rule("probe", `say.holds("a block")`))
		var mine, others []rules.Result
		for _, r := range list {
			switch r.Rule {
			case "house/whole", "house-rule":
				mine = append(mine, r)
			default:
				others = append(others, r)
			}
		}
		if len(others) != 1 || others[0].Kind != rules.KindPass || others[0].Block == "" {
			t.Errorf("%s: the rule about blocks says %+v", c.body, others)
		}
		if len(mine) == 0 || mine[0].Kind != c.kind || mine[0].Block != "" || !strings.Contains(mine[0].Message, c.says) || mine[0].At.None() {
			t.Errorf("%s: %+v, want %v %q", c.body, mine, c.kind, c.says)
		}
	}
	_, list := judged(t, "R1 A 0 1k\n", whole("whole", `say.holds("no block is needed")`))
	if i := slices.IndexFunc(list, func(r rules.Result) bool { return r.Rule == "house/whole" }); i < 0 || list[i].Kind != rules.KindPass {
		t.Errorf("without a block: %+v", list)
	}
}
