package policy

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
)

// The words that a finding is printed with, by weight: an acceptance that names one does not cover a heavier one.
var foundWords = []string{"review", "undecided", "note", "warning", "error"}

// CardFields is what an acceptance in a comment card may say.
var CardFields = []field.Field{
	{Key: "at", Shape: field.Text, Doc: "path of the instance; * stands for any characters of one name, ** for any at all"},
	{Key: "variant", Shape: field.Text, Doc: "the assembly variant it is for; without it, the drawing and every variant"},
	{Key: "because", Shape: field.Text, Doc: "why this can be lived with"},
	{Key: "until", Shape: field.Date, Doc: "the last day, which counts to its end in UTC"},
	{Key: "owner", Shape: field.Text, Doc: "the role that answers for it"},
	{Key: "margin", Shape: field.Margins, Doc: "the margin it was accepted at; a worse one is a finding again"},
	{Key: "of", Shape: field.Names, Doc: "what was found: the names of the quantities, \"statement\" for each that has none; one more is a finding again"},
	{Key: "found", Shape: field.Word, Words: foundWords, Doc: "the word it was accepted as; a heavier one is a finding again"},
}

// FileFields is what an acceptance in a file may say.
var FileFields = append(slices.Clone(CardFields),
	field.Field{Key: "netlist", Shape: field.Text, Doc: "glob of the netlists it is for, counted from the folder of the file"})

// Fields is all that shuntwright.toml may say. A star stands for the id of a rule.
var Fields = []field.Field{
	{Key: "rule-set", Shape: field.Count, Doc: "number of the rule set that is judged; rules that came or changed later are left out"},
	{Key: "fail-on", Shape: field.Text, Doc: "what makes the exit code 1: a comma list of error, warning, note, review, open; or never"},
	{Key: "parts", Shape: field.Names, Doc: "files, folders or globs of part records, counted from the folder of the file"},
	{Key: "house", Shape: field.Names, Doc: "files, folders or globs of house rules, counted from the folder of the file"},
	{Key: "levels.*", Shape: field.Word, Words: []string{"note", "warning", "error"}, Doc: "level of a plain failure of the rule"},
	{Key: "off.*", Shape: field.Text, Doc: "the reason why the rule is not judged"},
	{Key: "acceptances.until", Shape: field.Word, Words: []string{"required", "optional"}, Doc: "whether an acceptance needs an end"},
	{Key: "acceptances.never", Shape: field.Names, Doc: "rules whose findings cannot be accepted"},
	{Key: "acceptances.under-review", Shape: field.Word, Words: []string{"allowed", "refused"},
		Doc: "whether acceptances count that stand in the netlist, or in any file but accepted.toml beside the policy"},
}

var (
	cards  = &field.Table{Arrays: map[string]*field.Table{"accept.*": {Fields: CardFields}}}
	files  = &field.Table{Arrays: map[string]*field.Table{"accept.*": {Fields: FileFields}}}
	policy = &field.Table{Fields: Fields}
)
