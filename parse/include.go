package parse

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// include reads a file, or one section of it.
func (r *reader) include(path, section string, whole source.Span) {
	fail := func(rule, message string, related ...source.Related) {
		r.report(source.Diagnostic{At: whole, Rule: rule, Message: message, Related: related})
	}
	r.files++
	most := r.n.Limits
	switch {
	case r.opt.Include == nil:
		fail(ruleInclude, fmt.Sprintf("%q is not read: includes are not allowed here", path))
		return
	case len(r.chain) > most.IncludeDepth:
		why := &LimitError{IncludeDepth, most.IncludeDepth, fmt.Sprintf("%q is not read: includes nest deeper than", path), ""}
		fail(ruleLimit, why.Error(), r.includers()...)
		return
	case r.files > most.Files:
		if r.files == most.Files+1 {
			why := &LimitError{Files, most.Files, fmt.Sprintf("%q and what follows is not read: there are more than", path), "include cards"}
			fail(ruleLimit, why.Error())
		}
		return
	case r.full, r.total > most.TotalBytes: // was reported; reading on would fill the memory
		return
	}
	text, shown, err := r.opt.Include(path, r.id)
	if err != nil {
		rule := ruleInclude
		if limit := (*LimitError)(nil); errors.As(err, &limit) {
			rule = ruleLimit
		}
		fail(rule, fmt.Sprintf("%q cannot be included: %v", path, err))
		return
	}
	if k := slices.Index(r.chain, link(shown, section)); k >= 0 {
		circle := append(slices.Clone(r.chain[k:]), link(shown, section))
		fail(ruleInclude, fmt.Sprintf("%q includes itself: %s", path, strings.Join(circle, " -> ")), r.includers()...)
		return
	}
	r.file(r.n.Src.Add(shown, text, whole), section, false)
}

// includers are the include cards that lead to the file being read.
func (r *reader) includers() (list []source.Related) {
	for _, by := range r.n.Src.Chain(r.id) {
		list = append(list, source.Related{At: by, Message: "included here"})
	}
	return list
}

// link is one file of the chain that is being read.
func link(path, section string) string {
	if section == "" {
		return path
	}
	return path + " (" + section + ")"
}

// A library is what is known of the sections of the file being read.
type library struct {
	want    string      // the section asked for; "" for what stands outside of sections
	found   bool        // it was there
	name    string      // the section being read or passed over
	at      source.Span // its .lib card; none outside of sections
	names   []string    // of all sections
	outside bool        // cards stand outside of its sections
}

// elsewhere tells that the present card belongs to a section, or to none, that was not asked for.
func (l *library) elsewhere() bool {
	if l.at.None() {
		return l.want != ""
	}
	return !strings.EqualFold(l.name, l.want)
}

// library handles a .lib card: with a section behind its path it reads that section of the file. With one word it starts
// a section where an .endl follows, and else names a file.
func (r *reader) library(s *lib, whole source.Span) {
	switch {
	case s.Section != nil:
		if !r.lib.elsewhere() {
			r.include(s.Path.Value, s.Section.Value, whole)
		}
	case !strings.EqualFold(s.Path.Value, r.lib.want) && !startsSection(r.text[whole.Byte+whole.Len:]):
		if !r.lib.elsewhere() {
			r.include(s.Path.Value, "", whole)
		}
	case !r.lib.at.None():
		r.report(source.Diagnostic{At: whole, Rule: ruleCard, Message: fmt.Sprintf("section %s starts inside section %s, which has no .endl",
			s.Path.Value, r.lib.name)})
		fallthrough
	default:
		r.lib.name, r.lib.at = s.Path.Value, whole
		r.lib.names = append(r.lib.names, s.Path.Value)
		r.lib.found = r.lib.found || strings.EqualFold(s.Path.Value, r.lib.want)
	}
}

func (r *reader) endl(s *endl, whole source.Span) {
	switch {
	case r.lib.at.None():
		r.report(source.Diagnostic{At: whole, Rule: ruleCard, Message: ".endl closes nothing: no section of a library is open"})
		return
	case s.Name != nil && !strings.EqualFold(s.Name.Value, r.lib.name):
		r.report(source.Diagnostic{At: whole, Rule: ruleCard,
			Message: fmt.Sprintf(".endl %s closes section %s", s.Name.Value, r.lib.name)})
	}
	r.lib.at = source.Span{}
}

// wanted reports a section that is not in its file.
func (r *reader) wanted(f *source.File) {
	has := "it has " + strings.Join(r.lib.names[:min(len(r.lib.names), 12)], ", ")
	if r.lib.want == "" && isLib(r.n.Src.Text(f.By)) && len(r.lib.names) > 0 && !r.lib.outside {
		r.report(source.Diagnostic{At: f.By, Rule: ruleInclude, Message: fmt.Sprintf("%s is made of sections, and none is named: %s", f.Path, has)})
	}
	if r.lib.want == "" || r.lib.found {
		return
	}
	d := source.Diagnostic{At: f.By, Rule: ruleInclude, Message: fmt.Sprintf("%s has no section %q", f.Path, r.lib.want),
		Near: source.Nearest(r.lib.want, slices.Values(r.lib.names))}
	if len(r.lib.names) > 0 && d.Near == "" {
		d.Message += "; " + has
	}
	r.report(d)
}

func isLib(card string) bool { return len(card) > 4 && strings.EqualFold(card[:4], ".lib") }

// startsSection tells that behind a .lib card with one word comes an .endl card, and no other such .lib card before it.
func startsSection(text []byte) bool {
	for _, line := range dotLines(text) {
		l := &liner{text: line}
		card := l.trim(0, len(line))
		words := bytes.Fields(line[card.From:card.To])
		switch {
		case bytes.EqualFold(words[0], []byte(".endl")):
			return true
		case bytes.EqualFold(words[0], []byte(".lib")) && len(words) == 2:
			return false
		}
	}
	return false
}
