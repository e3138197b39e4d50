package field

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// unknown reports a key that no field has: own is the first component that stands beside it, leaf tells that it has a
// value and is no table.
func (r *reader) unknown(now place, k key, own int, leaf bool) {
	at, name := k.span(own), clip(JoinKey(k.path))
	near := now.table.nearest(k.path)
	if merged := now.table.unquoted(k, leaf); merged != "" && near == "" {
		r.fail(at, "unknown key %s; if %s is one name, quote it: \"%s\"", name, clip(merged), clip(merged))
		return
	}
	d := source.Diagnostic{At: at, Message: "unknown key " + name}
	next := now.table.after(k.path)
	switch {
	case now.table.find(k.path) != nil:
		d.Message = name + " is one value, not a table"
	case slices.Equal(next, []string{"*"}):
		d.Message = name + " is a table of names"
	case len(next) > 0:
		d.Message = name + " is a table; it holds " + strings.Join(next, ", ")
	default:
		if near != "" {
			d.Near = near
			break
		}
		for n := len(k.path) - 1; n >= 0; n-- {
			known := now.table.after(k.path[:n])
			if n > 0 && now.table.find(k.path[:n]) != nil {
				d.Message += fmt.Sprintf("; %s is one value and holds no keys", clip(JoinKey(k.path[:n])))
				break
			}
			if len(known) > 0 {
				where := "here"
				if n > 0 {
					where = "in " + clip(JoinKey(k.path[:n]))
				}
				d.Message += fmt.Sprintf("; known %s: %s", where, strings.Join(known, ", "))
				break
			}
		}
	}
	r.report(d)
}

// unquoted is the name that a bare key with dots in it took apart; "" when joining components makes no known key.
func (t *Table) unquoted(k key, leaf bool) string {
	for from := range k.path {
		for to := from + 2; to <= len(k.path); to++ {
			if slices.Contains(k.quoted[from:to], true) {
				break
			}
			name := strings.Join(k.path[from:to], ".")
			path := slices.Concat(k.path[:from], []string{name}, k.path[to:])
			if t.starred(path, from, leaf) {
				return name
			}
		}
	}
	return ""
}

// starred tells that a path is a known key, or of a table one that leads on, with a name at one component.
func (t *Table) starred(path []string, at int, leaf bool) bool {
	return slices.ContainsFunc(t.keys(), func(key string) bool {
		parts := strings.Split(key, ".")
		return matches(parts, path) && parts[at] == "*" && (!leaf || len(parts) == len(path))
	})
}

// nearest is the known key closest to a path, with the names of the path in place of stars.
func (t *Table) nearest(path []string) string {
	text := strings.Join(path, ".")
	if len(text) > 80 {
		return ""
	}
	var known []string
	for _, key := range t.keys() {
		parts := strings.Split(key, ".")
		if len(parts) < len(path) {
			continue
		}
		parts = parts[:len(path)]
		for i := range parts {
			if parts[i] == "*" {
				parts[i] = path[i]
			}
		}
		known = append(known, strings.Join(parts, "."))
	}
	near := source.Nearest(text, slices.Values(known))
	if near == "" || len(path) == 1 {
		return near
	}
	// Long names would make any two keys look alike: what differs must be close by itself.
	for i, p := range strings.Split(near, ".") {
		if len(strings.Split(near, ".")) == len(path) && p != path[i] &&
			source.Nearest(path[i], slices.Values([]string{p})) == "" {
			return ""
		}
	}
	return near
}

// clip shortens what a message quotes.
func clip(s string) string {
	if r := []rune(s); len(r) > 80 {
		return string(r[:77]) + "..."
	}
	return s
}
