package cli

import (
	"cmp"
	"errors"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/bmatcuk/doublestar/v4"
	"golang.org/x/sync/errgroup"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/policy"
)

// globbed puts the files that a glob fits in its place, in the order of their names, but for those that stand in the list
// already. A file of that very name is no glob.
func globbed(named []string) (netlists []string, unread []report.Unread) {
	known := map[string]bool{}
	for _, n := range named {
		if !strings.ContainsAny(n, "*?[{") || exists(n) {
			known[filepath.Clean(n)] = true
			netlists = append(netlists, n)
			continue
		}
		found, err := doublestar.FilepathGlob(n, doublestar.WithFilesOnly())
		if err == nil && len(found) == 0 {
			err = errors.New("no file fits this pattern")
		}
		if err != nil {
			unread = append(unread, report.Unread{Path: filepath.ToSlash(n), Message: err.Error()})
		}
		slices.Sort(found)
		for _, f := range found {
			if !known[f] {
				known[f] = true
				netlists = append(netlists, f)
			}
		}
	}
	return netlists, unread
}

// all judges netlists on all cores; what came of each stands in their order.
func (a *app) all(in inputs, netlists []string) []loaded {
	out := make([]loaded, len(netlists))
	line, ticks := a.progress()
	defer ticks.Stop()
	line.during(ticks.C, func(stage func(path, what string)) {
		var g errgroup.Group
		g.SetLimit(runtime.GOMAXPROCS(0))
		for i, path := range netlists {
			g.Go(func() error {
				out[i] = in.bounded(path, a.rules, func(what string) { stage(shown(path), what) })
				return nil
			})
		}
		_ = g.Wait() // no worker has an error
	})
	settleIdle(out)
	sayOnce(out)
	return out
}

// settleIdle says of each acceptance that accepts nothing in any netlist that it does, once, at the first netlist that
// it is for. One in a comment card is for its netlist only.
func settleIdle(list []loaded) {
	type place struct {
		path string
		byte uint32
	}
	where := func(l loaded, i policy.Idle) place {
		return place{l.netlist.Report.Design.Src.File(i.At.File).Path, i.At.Byte}
	}
	offered, idle := map[place]int{}, map[place]int{}
	for _, l := range list {
		if l.netlist == nil {
			continue
		}
		for _, a := range l.offered {
			offered[where(l, policy.Idle{At: a.At})]++
		}
		for _, i := range l.idle {
			idle[where(l, i)]++
		}
	}
	said := map[place]bool{}
	for _, l := range list {
		for _, i := range l.idle {
			if p := where(l, i); i.InSource || idle[p] == offered[p] && !said[p] {
				said[p] = true
				rep := l.netlist.Report
				rep.Results = append(rep.Results, i.Result)
			}
		}
		if l.netlist != nil {
			inFileOrder(l.netlist.Report.Results)
		}
	}
}

// sayOnce drops what was said of an earlier netlist's policy or file of acceptances already, where netlists share them.
func sayOnce(list []loaded) {
	type saying struct {
		at   source.Place
		text string
	}
	known := map[saying]int{}
	for i, l := range list {
		if l.netlist == nil {
			continue
		}
		rep := l.netlist.Report
		rep.Results = slices.DeleteFunc(rep.Results, func(r rules.Result) bool {
			if r.Rule != "acceptance" && r.Rule != "policy-field" {
				return false
			}
			s := saying{rep.Design.Src.Place(r.At), r.Message}
			first, said := known[s]
			if !said {
				known[s] = i
			}
			return said && first != i && s.at.Path != l.netlist.Path
		})
	}
}

// inFileOrder sorts what is said of acceptances at the end of the results.
func inFileOrder(results []rules.Result) {
	from := len(results)
	for from > 0 && results[from-1].Rule == "acceptance" {
		from--
	}
	slices.SortStableFunc(results[from:], func(a, b rules.Result) int {
		return cmp.Or(cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Byte, b.At.Byte))
	})
}
