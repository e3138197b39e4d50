package report

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

const (
	sarifSchema = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
	homepage    = "https://github.com/shuntwright/shuntwright"

	// fingerprint is the name under which a result is known again in a later run. The number rises with any change in
	// what is hashed.
	fingerprint = "ruleAndInstance/v1"
)

// SARIF prints every result in the interchange format of the OASIS committee, version 2.1.0, as one run.
func SARIF(w io.Writer, run *Run) error {
	c := catalogue{rules: []sarifRule{}, index: map[string]int{}}
	for _, r := range run.Rules {
		c.add(r)
	}
	out := sarifRun{
		Invocations: []sarifInvocation{{ExecutionSuccessful: len(run.Unread) == 0}},
		ColumnKind:  "unicodeCodePoints",
		Results:     []sarifResult{},
	}
	seen := map[string]int{}
	suppressed := run.Summary().Accepted > 0
	for i := range run.Netlists {
		n := &run.Netlists[i]
		for _, r := range n.Report.Results {
			s := n.sarif(r, c.find(r), seen)
			if suppressed { // the standard wants them on all results of a run or on none
				s.Suppressions = n.suppressions(r)
			}
			out.Results = append(out.Results, s)
		}
	}
	out.Invocations[0].ToolExecutionNotifications = run.notifications()
	out.Tool.Driver = sarifDriver{Name: "shuntwright", Version: run.Version, InformationURI: homepage, Rules: c.rules}
	return encode(w, sarifLog{Schema: sarifSchema, Version: "2.1.0", Runs: []sarifRun{out}})
}

// notifications are what is said beside the results: the inputs that could not be read, and the hazards of circuits.
func (run *Run) notifications() (notes []sarifNotification) {
	for _, u := range run.Unread {
		at := sarifPhysical{ArtifactLocation: artifact(u.Path)}
		if u.Line > 0 {
			at.Region = &sarifRegion{u.Line, u.Column, u.Line, u.Column}
		}
		notes = append(notes, sarifNotification{"error", message(u.Message), []sarifLocation{{PhysicalLocation: at}}})
	}
	for _, n := range run.Netlists {
		for _, c := range n.Report.Cautions {
			at := sarifPhysical{ArtifactLocation: artifact(n.Path)}
			notes = append(notes, sarifNotification{"note", message(c), []sarifLocation{{PhysicalLocation: at}}})
		}
	}
	return notes
}

// A catalogue is the list of rules that results point into.
type catalogue struct {
	rules []sarifRule
	index map[string]int
}

func (c *catalogue) add(r *rules.Rule) {
	s := sarifRule{ID: r.ID, ShortDescription: message(r.Title), DefaultConfiguration: &sarifConfiguration{r.Level.String()}}
	if r.Page != "" {
		s.Help = &sarifText{Text: message(r.Title + "; the command \"shuntwright rules " + r.ID + "\" explains it").Text, Markdown: r.Page}
	}
	c.index[r.ID], c.rules = len(c.rules), append(c.rules, s)
}

// find is the place of a result's rule; a trouble with an input gets an entry of its own.
func (c *catalogue) find(r rules.Result) int {
	i, ok := c.index[r.Rule]
	if ok {
		return i
	}
	entry := sarifRule{ID: r.Rule, ShortDescription: message(strings.ReplaceAll(r.Rule, "-", " "))}
	for _, t := range rules.Troubles {
		if t.ID == r.Rule {
			entry.ShortDescription = message(t.Title)
		}
	}
	i = len(c.rules)
	c.index[r.Rule], c.rules = i, append(c.rules, entry)
	return i
}

func (n *Netlist) sarif(r rules.Result, rule int, seen map[string]int) sarifResult {
	text, level, kind := r.Message, "none", r.Kind.String()
	if s := subject(r); s != "" {
		text = s + ": " + text
	}
	switch {
	case r.Follows != "" && r.Accepted == nil: // a viewer counts what fails, and its root does already
		kind, text = "informational", text+"; this comes of "+r.Follows
	case r.Kind == rules.KindFail:
		level = r.Level.String()
	}
	at := sarifLocation{PhysicalLocation: n.physical(r.At)}
	if r.Block != "" {
		at.LogicalLocations = []sarifLogical{{r.Block, "element"}}
	}
	out := sarifResult{
		RuleID: r.Rule, RuleIndex: rule, Kind: kind, Level: level,
		Message:             message(text),
		Locations:           []sarifLocation{at},
		PartialFingerprints: map[string]string{fingerprint: identity(r, seen)},
		Properties:          properties(r),
	}
	for i, x := range n.related(r) {
		m := message(x.Message)
		out.RelatedLocations = append(out.RelatedLocations, sarifLocation{ID: &i, PhysicalLocation: n.physical(x.At), Message: &m})
	}
	return out
}

// suppressions are the acceptance of a result, or none.
func (n *Netlist) suppressions(r rules.Result) *[]sarifSuppression {
	list := []sarifSuppression{}
	if a := r.Accepted; a != nil {
		s := sarifSuppression{Kind: "external", Status: "accepted", Justification: a.Because, Location: &sarifLocation{PhysicalLocation: n.physical(a.At)}}
		if a.InSource {
			s.Kind = "inSource"
		}
		list = append(list, s)
	}
	return &list
}

// identity hashes what makes a result the same one after lines have moved: its rule and its instance. Troubles with inputs
// have no instance; their message stands for it, and repeats are counted.
func identity(r rules.Result, seen map[string]int) string {
	parts := []string{r.Rule, r.Block}
	if r.Variant != "" {
		parts = append(parts, "variant "+r.Variant)
	}
	if r.Block == "" {
		parts = append(parts, r.Message)
		id := strings.Join(parts, "\x00")
		if seen[id]++; seen[id] > 1 {
			parts = append(parts, strconv.Itoa(seen[id]))
		}
	}
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return hex.EncodeToString(sum[:16])
}

func properties(r rules.Result) *sarifProperties {
	p := &sarifProperties{Grade: r.Grade.String(), Missing: missing(r.Needs), Assumed: slices.Clone(r.Assumed), Advice: r.Advice, Variant: r.Variant}
	if len(r.Measures) > 0 {
		m := r.Measures[0]
		p.Quantity, p.Unit, p.Margin = m.Name, unit(m.Unit), number(m.Margin).known()
	}
	if r.Remedy != nil {
		p.Remedy = r.Remedy.Text
	}
	return p
}

func (n *Netlist) physical(at source.Span) sarifPhysical {
	p := n.place(at)
	return sarifPhysical{artifact(p.Path), &sarifRegion{p.Line, p.Column, p.EndLine, p.EndCol}}
}

// artifact is a path as a URI reference, relative where the path is.
func artifact(path string) sarifArtifact {
	u := url.URL{Path: filepath.ToSlash(path)}
	if filepath.IsAbs(path) {
		u.Scheme = "file"
	}
	return sarifArtifact{u.String()}
}

// message makes a plain text message of the text: braces are doubled, since single ones stand for arguments, and
// nothing in it becomes a link.
func message(text string) sarifText {
	return sarifText{Text: strings.NewReplacer("{", "{{", "}", "}}", "](", "] (").Replace(text)}
}
