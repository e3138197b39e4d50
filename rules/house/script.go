package house

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"go.starlark.net/resolve"
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// api is the number of what rules can ask for and say. It rises when a rule that worked would mean something else.
const api = 1

// A script is a rule as the child holds it.
type script struct {
	meta
	path  string
	judge starlark.Callable
}

var levels = map[string]rules.Level{"error": rules.Error, "warning": rules.Warning, "note": rules.Note}

func levelOf(word string) (rules.Level, error) {
	if l, ok := levels[word]; ok {
		return l, nil
	}
	return 0, nothingCalled("level", word, []string{"error", "warning", "note"})
}

// nothingCalled says that a word is none of those that may stand there.
func nothingCalled(what, word string, known []string) error {
	if near := source.Nearest(word, slices.Values(known)); near != "" {
		return fmt.Errorf("no %s %q; did you mean %q?", what, word, near)
	}
	if len(known) > 12 {
		known = append(slices.Clone(known[:12]), "...")
	}
	return fmt.Errorf("no %s %q; there are %s", what, word, strings.Join(known, ", "))
}

var idShape = regexp.MustCompile(`^house/[a-z0-9]+(-[a-z0-9]+)*$`)

// options leave out what could run on without end.
var options = &syntax.FileOptions{TopLevelControl: true}

// load runs a file of rules and keeps what it declares.
func (c *child) load(l loading) (out loaded) {
	var found []*script
	file, err := options.Parse(l.Path, l.Text, 0)
	if err != nil {
		return loaded{Fault: faultOf(err, l.Path)}
	}
	functions := map[string]*syntax.DefStmt{}
	for _, s := range file.Stmts {
		if d, ok := s.(*syntax.DefStmt); ok {
			functions[d.Name.Name] = d
		}
	}
	guard(file)
	env := c.environment()
	env["house_rule"] = starlark.NewBuiltin("house_rule", func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
		s, err := c.declare(args, kw)
		if err != nil {
			return nil, err
		}
		s.path, s.Line = l.Path, int(t.CallFrame(1).Pos.Line)
		s.Verdicts = reached(functions, s.judge.Name())
		if slices.ContainsFunc(found, func(o *script) bool { return o.ID == s.ID }) || known(c.scripts, s.ID) {
			return nil, fmt.Errorf("two rules are called %s", s.ID)
		}
		if len(c.scripts)+len(found) == mostRules {
			return nil, fmt.Errorf("there are more than %d house rules", mostRules)
		}
		found = append(found, s)
		return starlark.None, nil
	})
	prog, err := starlark.FileProgram(file, func(name string) bool { return known(env, name) })
	if err != nil {
		return loaded{Fault: faultOf(err, l.Path)}
	}
	if f := c.run(l.Path, l.Path, func(t *starlark.Thread) error {
		globals, err := prog.Init(t, env)
		globals.Freeze()
		return err
	}); f != nil {
		return loaded{Fault: f}
	}
	if len(found) == 0 {
		return loaded{Fault: &fault{Message: "the file declares no rule; call house_rule(api = 1, id = \"house/...\", ...)"}}
	}
	for _, s := range found {
		c.scripts[s.ID] = s
		out.Rules = append(out.Rules, s.meta)
	}
	return out
}

// declare reads the arguments of house_rule.
func (c *child) declare(args starlark.Tuple, kw []starlark.Tuple) (*script, error) {
	s := &script{}
	var number int
	var judge starlark.Callable
	about := "block"
	if len(args) > 0 {
		return nil, errors.New("name the arguments of house_rule: api, id, title, level, page, judge")
	}
	for _, pair := range kw { // before what a later api may have beside
		if name, _ := starlark.AsString(pair[0]); name == "api" && pair[1].String() != fmt.Sprint(api) {
			return nil, fmt.Errorf("api %s is not known: this version knows api %d", pair[1], api)
		}
	}
	if err := starlark.UnpackArgs("house_rule", nil, kw, "api", &number, "id", &s.ID, "title", &s.Title, "level", &s.Level,
		"page", &s.Page, "judge", &judge, "about?", &about); err != nil {
		return nil, err
	}
	if about != "block" && about != "circuit" {
		return nil, fmt.Errorf("%s: %w", s.ID, nothingCalled("subject", about, []string{"block", "circuit"}))
	}
	s.Whole = about == "circuit"
	f, ok := judge.(*starlark.Function)
	switch _, err := levelOf(s.Level); {
	case !idShape.MatchString(s.ID) || len(s.ID) > 80:
		return nil, fmt.Errorf("the id %q does not fit: write house/ and a name in lower case letters, digits and hyphens, as in house/shunt-max", s.ID)
	case strings.TrimSpace(s.Title) == "" || strings.ContainsAny(s.Title, "\r\n") || len(s.Title) > 200:
		return nil, fmt.Errorf("%s: the title is one line that says what is wrong when the rule fails", s.ID)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", s.ID, err)
	case strings.TrimSpace(s.Page) == "":
		return nil, fmt.Errorf("%s: the page is missing: the name of a .md file beside the rule, or its text", s.ID)
	case !ok || f.NumParams() != 2:
		return nil, fmt.Errorf("%s: judge is a function of two arguments, def f(%s, say)", s.ID, about)
	}
	s.judge = f
	return s, nil
}

// environment is what rules find beside the language's own functions.
func (c *child) environment() starlark.StringDict {
	env := starlark.StringDict{
		"quantity": starlark.NewBuiltin("quantity", func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var text string
			if err := starlark.UnpackArgs("quantity", args, kw, "text", &text); err != nil {
				return nil, err
			}
			x, err := readAny(text)
			return number{x, c}, err
		}),
		"like": starlark.NewBuiltin("like", func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var pattern, name string
			err := starlark.UnpackArgs("like", args, kw, "pattern", &pattern, "name", &name)
			return starlark.Bool(like(pattern, name)), err
		}),
		sameName: starlark.NewBuiltin("==", equal),
	}
	for _, u := range units {
		env[u.name] = starlark.NewBuiltin(u.name, func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			var v starlark.Value
			if err := starlark.UnpackArgs(u.name, args, kw, "value", &v); err != nil {
				return nil, err
			}
			if f, ok := starlark.AsFloat(v); ok {
				x := constant(f, u.unit)
				return number{x, c}, finite(x)
			}
			x, err := measured(v, u.unit, u.name)
			return number{x, c}, err
		})
	}
	return env
}

// faultOf is what went wrong in a file, with the line in it where one is known.
func faultOf(err error, path string) *fault {
	f := &fault{Message: err.Error()}
	var eval *starlark.EvalError
	var syn syntax.Error
	var list resolve.ErrorList
	switch {
	case errors.As(err, &eval):
		f.Message = strings.TrimPrefix(eval.Msg, "Starlark computation cancelled: ")
		for i := len(eval.CallStack) - 1; i >= 0; i-- {
			if p := eval.CallStack[i].Pos; p.Filename() == path && p.Line > 0 {
				f.Line, f.Column = int(p.Line), int(p.Col)
				break
			}
		}
	case errors.As(err, &syn):
		f.Message, f.Line, f.Column = syn.Msg, int(syn.Pos.Line), int(syn.Pos.Col)
	case errors.As(err, &list) && len(list) > 0:
		f.Message, f.Line, f.Column = list[0].Msg, int(list[0].Pos.Line), int(list[0].Pos.Col)
	}
	var u undecided
	if errors.As(err, &u) {
		f.Message, f.Needs, f.Undecided = u.message, u.needs, true
	}
	if r := []rune(f.Message); len(r) > 300 {
		f.Message = string(r[:300]) + "..."
	}
	return f
}

// reached are the verdicts that a function can give, itself and by the functions of its file that it names.
func reached(functions map[string]*syntax.DefStmt, name string) (out []string) {
	seen := map[string]bool{}
	var follow func(string)
	follow = func(name string) {
		d := functions[name]
		if d == nil || seen[name] {
			return
		}
		seen[name] = true
		syntax.Walk(d, func(n syntax.Node) bool {
			switch n := n.(type) {
			case *syntax.Ident:
				follow(n.Name)
			case *syntax.DotExpr:
				for _, v := range verdicts[n.Name.Name] {
					if !slices.Contains(out, v) {
						out = append(out, v)
					}
				}
			}
			return true
		})
	}
	follow(name)
	slices.Sort(out)
	return out
}
