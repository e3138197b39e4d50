package house_test

import (
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
)

// within bounds what a rule that runs into a limit may cost: the limit of a second and two more.
const within = 3 * time.Second

// An attack ends with one clear error that names the rule, and the other rules are judged as if it were not there.
func TestAttacks(t *testing.T) {
	for name, c := range map[string]struct{ body, says string }{
		"endless loop":           {"for i in range(1 << 62):\n    pass", "it took more than 5000000 steps"},
		"endless work":           {"x = list(range(200000))\nfor i in range(100000):\n    x = sorted(x, reverse = True)", "it took "},
		"while":                  {"while True:\n    pass", "while"},
		"deep recursion":         {"f = lambda g, n: g(g, n + 1)\nf(f, 0)", "called recursively"},
		"a huge list":            {"x = list(range(1000000000))", "it took more than 512 MB of memory"},
		"string doubling":        {"s = \"x\"\nfor i in range(60):\n    s = s + s", "it took "},
		"list doubling":          {"s = [1]\nfor i in range(60):\n    s = s + s", "it took "},
		"a huge repeat":          {"s = \"x\" * (1 << 40)", "repeat count 1099511627776 too large"},
		"many repeats":           {"s = [\"x\" * (1 << 28) for i in range(100)]\nx = [t + \"y\" for t in s]", "it took "},
		"a huge number":          {"x = 1 << 500\nfor i in range(30):\n    x = x * x", ""},
		"flooding":               {"for i in range(100000):\n    say.holds(\"x\")", "says more than 200 things"},
		"a long text":            {"say.breach(\"x\" * 100000)", "says more than 2000 bytes"},
		"printing":               {"for i in range(1 << 62):\n    print(\"x\" * 1000)", "it took "},
		"asking":                 {"for i in range(1 << 62):\n    block.shunt_resistance.low", "asks more than 20000 things"},
		"a huge quantity":        {"q = block.shunt_resistance\nfor i in range(40):\n    q = q + q\nsay.at_most(q, \"1 ohm\")", "made of more than 1000 parts"},
		"a deep quantity":        {"q = block.shunt_resistance\nfor i in range(100000):\n    q = q + \"1 ohm\"\nsay.at_most(q, \"1 ohm\")", "made of more than 1000 parts"},
		"a nested list":          {"x = []\nfor i in range(300000):\n    x = [x]\nsay.holds(str(x))", "it took "},
		"no number":              {"say.at_most(block.shunt_resistance, ohm(float(\"nan\")))", "no finite number"},
		"a number too large":     {"say.at_most(block.shunt_resistance, ohm(1e300) * ratio(1e300))", "no finite number"},
		"load":                   {"load(\"other.star\", \"x\")", "load"},
		"a file":                 {"open(\"/etc/passwd\")", "undefined: open"},
		"a state between blocks": {"seen.append(1)\nsay.holds()", "undefined: seen"},
		"a change of the block":  {"block.name = \"X\"", "can't assign"},
		"another rule's page":    {"say.holds(say.page)", "no .page"},
	} { // which limit comes first may depend on how busy the machine is: "it took"
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			_, list := judged(t, winch, rule("good", `say.at_most(block.shunt_resistance, "2 mohm")`), rule("bad", c.body), rule("fine", "say.holds()"))
			if took := time.Since(began); took > within {
				t.Errorf("it took %v", took)
			}
			var said []string
			for _, r := range list {
				switch {
				case r.Rule == "house-rule":
					said = append(said, r.Message)
				case r.Rule == "house/bad" && r.Kind != rules.KindOpen, r.Rule != "house/bad" && r.Kind != rules.KindPass:
					t.Errorf("%s: %v %s", r.Rule, r.Kind, r.Message)
				}
			}
			if len(said) != 1 || !strings.Contains(said[0], c.says) || !strings.HasPrefix(said[0], "house/") {
				t.Errorf("%q, want %q", said, c.says)
			}
			t.Log(time.Since(began), said)
		})
	}
}

// The same at the top of a file, where no rule is known yet: the error names the file.
func TestAttacksWhileLoading(t *testing.T) {
	good := rule("good", "say.holds()")
	for name, c := range map[string]struct{ text, says string }{
		"endless loop":      {"for i in range(1 << 62):\n    pass", "it took more than 5000000 steps"},
		"a huge list":       {"x = list(range(1000000000))", "it took more than 512 MB of memory"},
		"deep brackets":     {strings.Repeat("(", 900_000), ""},
		"deep signs":        {"x = " + strings.Repeat("-", 900_000) + "1", ""},
		"nested lists":      {"x = " + strings.Repeat("[", 400_000) + strings.Repeat("]", 400_000), ""},
		"a large file":      {strings.Repeat("x = 1\n", 200_000), "larger than 1 MiB"},
		"bytes":             {"\x00\xff\xfe", ""},
		"nothing":           {"", "declares no rule"},
		"an unknown api":    {strings.Replace(rule("bad", "say.holds()"), "api = 1", "api = 2", 1), "api 2 is not known: this version knows api 1"},
		"no api":            {strings.Replace(rule("bad", "say.holds()"), "api = 1, ", "", 1), "missing argument for api"},
		"a builtin's name":  {strings.Replace(rule("bad", "say.holds()"), "house/bad", "supply-range", 1), `the id "supply-range" does not fit`},
		"a name taken":      {good, "two rules are called house/good"},
		"many rules":        {"for i in range(600):\n    house_rule(api = 1, id = \"house/r%d\" % i, title = \"t\", level = \"note\", page = \"p\", judge = lambda b, s: None)", "more than 500 house rules"},
		"no level":          {strings.Replace(rule("bad", "say.holds()"), `"error"`, `"eror"`, 1), `no level "eror"; did you mean "error"?`},
		"one argument":      {strings.Replace(rule("bad", "pass"), "block, say", "block", 1), "def f(block, say)"},
		"a page elsewhere":  {strings.Replace(rule("bad", "say.holds()"), "a page", "../x.md", 1), "a page stands beside its rule"},
		"a syntax error":    {"def f(:\n", "got ':'"},
		"an unknown global": {"x = bloc", "undefined: bloc"},
	} {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			_, list := judged(t, winch, good, c.text)
			if took := time.Since(began); took > within {
				t.Errorf("it took %v", took)
			}
			if len(list) < 2 || list[0].Rule != "house-rule" || !strings.Contains(list[0].Message, c.says) || len(list[0].Message) > 500 {
				t.Fatalf("%+v, want %q", list, c.says)
			}
			last := list[len(list)-1]
			for _, r := range list[1:] {
				if r.Rule == "house/good" {
					last = r
				}
			}
			if last.Rule != "house/good" || last.Kind != rules.KindPass {
				t.Errorf("the other rule: %+v", last)
			}
			t.Log(time.Since(began), list[0].Message)
		})
	}
}

// A file that could not be read is told of, and nothing else is lost.
func TestRefusedFile(t *testing.T) {
	s := house.Open([]house.File{{Path: "house/a.star", Refused: "the file is too large"}, {Path: "house/b.star", Text: []byte(rule("good", "say.holds()"))}})
	defer s.Close()
	rep := rules.Judge(load(t, winch), s.List())
	s.Settle(rep)
	if len(rep.Results) != 2 || rep.Results[0].Message != "house/a.star: the file is too large" || rep.Results[1].Kind != rules.KindPass {
		t.Errorf("%+v", rep.Results)
	}
}

// A child that is not what it should be: whatever comes over the pipe, the linter goes on.
func TestStrangeChildren(t *testing.T) {
	for child, says := range map[string]string{
		"flood": "the answer is longer than", "malformed": "the answer is malformed", "silent": "it took longer than 1s",
		"gone": "it ended the process that ran it", "wrong": "the answer is malformed",
	} {
		t.Run(child, func(t *testing.T) {
			began := time.Now()
			defer house.StartInstead(child)()
			_, list := judged(t, winch, rule("bad", "say.holds()"))
			if len(list) != 1 || list[0].Rule != "house-rule" || !strings.Contains(list[0].Message, says) {
				t.Errorf("%+v, want %q", list, says)
			}
			if took := time.Since(began); took > within {
				t.Errorf("it took %v", took)
			}
		})
	}
}

// The environment of the child is empty.
func TestChildHasNoEnvironment(t *testing.T) {
	t.Setenv("SECRET", "winch")
	defer house.StartInstead("environment")()
	_, list := judged(t, winch, rule("bad", "say.holds()"))
	if len(list) != 1 || !strings.Contains(list[0].Message, "0 variables") {
		t.Errorf("%+v", list)
	}
}

// Where the system has no limit on memory, a rule that takes too much is noticed and ended.
func TestWatchdog(t *testing.T) {
	defer house.StartInstead("unconfined")()
	for name, body := range map[string]string{
		"a list":     "x = list(range(1 << 31))",
		"many texts": "s = [\"x\" * 1000000 + str(i) for i in range(1000000)]",
	} {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			_, list := judged(t, winch, rule("bad", body), rule("fine", "say.holds()"))
			if len(list) != 3 || !strings.HasPrefix(list[0].Message, "house/bad: it took ") || list[2].Kind != rules.KindPass {
				t.Errorf("%+v", list)
			}
			if took := time.Since(began); took > within {
				t.Errorf("it took %v", took)
			}
		})
	}
}
