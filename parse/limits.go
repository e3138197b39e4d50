package parse

import (
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Limits bound the work on one netlist, which may be a stranger's: a small file can describe a circuit without end. A
// field that is 0 stands for the standard value.
type Limits struct {
	FileBytes       int // bytes of one file
	TotalBytes      int // bytes of the netlist and all it includes, each as often as it is included
	Files           int // include cards followed
	IncludeDepth    int // how deep includes nest
	ExpressionDepth int // how deep an expression nests
	ExpressionParts int // values and operators of one expression
	ParameterDepth  int // parameters that lean on each other in a row
	HierarchyDepth  int // how deep instances of subcircuits nest
	Elements        int // elements and instances of the flat circuit
	PathLength      int // bytes of an instance's path
}

// StandardLimits hold unless others are asked for.
var StandardLimits = Limits{
	FileBytes: 1 << 30, TotalBytes: 1 << 30, Files: 10_000, IncludeDepth: 40,
	ExpressionDepth: 200, ExpressionParts: 100_000, ParameterDepth: 5000,
	HierarchyDepth: 60, Elements: 20_000_000, PathLength: 4000,
}

// A Limit is one of the Limits as a person names it.
type Limit struct {
	Name  string
	What  string // what it bounds
	Bytes bool   // it counts bytes of text
	Most  int    // what it may be set to: beyond it positions do not fit their type, or the stack its room
	of    func(*Limits) *int
}

// The names of the limits.
const (
	FileBytes       = "file-bytes"
	TotalBytes      = "total-bytes"
	Files           = "files"
	IncludeDepth    = "include-depth"
	ExpressionDepth = "expression-depth"
	ExpressionParts = "expression-parts"
	ParameterDepth  = "parameter-depth"
	HierarchyDepth  = "hierarchy-depth"
	Elements        = "elements"
	PathLength      = "path-length"
)

// AllLimits are the limits that can be moved, in the order of the work.
var AllLimits = []Limit{
	{FileBytes, "bytes of one file", true, math.MaxInt32, func(l *Limits) *int { return &l.FileBytes }},
	{TotalBytes, "bytes of the netlist with all it includes", true, math.MaxInt, func(l *Limits) *int { return &l.TotalBytes }},
	{Files, "include cards followed", false, math.MaxInt32, func(l *Limits) *int { return &l.Files }},
	{IncludeDepth, "how deep includes nest", false, 10_000, func(l *Limits) *int { return &l.IncludeDepth }},
	{ExpressionDepth, "how deep an expression nests", false, deepest, func(l *Limits) *int { return &l.ExpressionDepth }},
	{ExpressionParts, "values and operators of one expression", false, math.MaxInt32, func(l *Limits) *int { return &l.ExpressionParts }},
	{ParameterDepth, "parameters that lean on each other in a row", false, 100_000, func(l *Limits) *int { return &l.ParameterDepth }},
	{HierarchyDepth, "how deep instances nest", false, 10_000, func(l *Limits) *int { return &l.HierarchyDepth }},
	{Elements, "elements and instances of the flat circuit", false, 100_000_000, func(l *Limits) *int { return &l.Elements }},
	{PathLength, "bytes of an instance's path", false, 1 << 20, func(l *Limits) *int { return &l.PathLength }},
}

// Value is what the limit is in l; 0 where l leaves it at its standard value.
func (m Limit) Value(l Limits) int { return *m.of(&l) }

// Set moves the limit in l.
func (m Limit) Set(l *Limits, n int) { *m.of(l) = n }

// OrStandard puts the standard value wherever l leaves one open.
func (l Limits) OrStandard() Limits {
	for _, m := range AllLimits {
		if p := m.of(&l); *p <= 0 {
			*p = m.Value(StandardLimits)
		}
	}
	return l
}

// A LimitError is a limit that was hit.
type LimitError struct {
	Name  string
	Limit int
	What  string // "includes nest deeper than"
	Of    string // what is counted: "elements"; "" for none
}

func (e *LimitError) Error() string {
	size := fmt.Sprint(e.Limit)
	for _, m := range AllLimits {
		if m.Name == e.Name && m.Bytes {
			size = Bytes(e.Limit)
		}
	}
	if e.Of != "" {
		size += " " + e.Of
	}
	return fmt.Sprintf("%s %s (--limit %s=N moves it)", e.What, size, e.Name)
}

// Bytes is a size as a person would write it.
func Bytes(n int) string {
	for _, u := range []struct {
		shift int
		name  string
	}{{30, "GiB"}, {20, "MiB"}, {10, "KiB"}} {
		if whole := n >> u.shift; whole > 0 && whole<<u.shift == n {
			return fmt.Sprintf("%d %s", whole, u.name)
		}
	}
	return fmt.Sprintf("%d bytes", n)
}

// tooLong counts a file and holds it, and all so far, against the limits.
func (r *reader) tooLong(f *source.File) error {
	most := r.n.Limits
	r.total += len(f.Text)
	switch {
	case len(f.Text) > most.FileBytes:
		return &LimitError{FileBytes, most.FileBytes, "the file is larger than", ""}
	case r.total > most.TotalBytes:
		return &LimitError{TotalBytes, most.TotalBytes, "the netlist with all it includes is larger than", ""}
	}
	return nil
}
