package field

import (
	"slices"
	"strings"
)

// matches tells whether a path is the first components of a key, a star standing for any name.
func matches(key []string, path []string) bool {
	if len(path) > len(key) {
		return false
	}
	for i, p := range path {
		if key[i] != "*" && key[i] != p {
			return false
		}
	}
	return true
}

// find is the field of a path; nil when none is known.
func (t *Table) find(path []string) *Field {
	for i := range t.Fields {
		if key := strings.Split(t.Fields[i].Key, "."); len(key) == len(path) && matches(key, path) {
			return &t.Fields[i]
		}
	}
	return nil
}

// array is the table that an array at a path holds.
func (t *Table) array(path []string) (*Table, bool) {
	for key, sub := range t.Arrays {
		if parts := strings.Split(key, "."); len(parts) == len(path) && matches(parts, path) {
			return sub, true
		}
	}
	return nil, false
}

// leads tells that known keys go on from a path.
func (t *Table) leads(path []string) bool {
	for _, key := range t.keys() {
		if parts := strings.Split(key, "."); len(parts) > len(path) && matches(parts, path) {
			return true
		}
	}
	return false
}

// keys are the keys of all fields and arrays, arrays last and sorted.
func (t *Table) keys() []string {
	keys := make([]string, 0, len(t.Fields)+len(t.Arrays))
	for _, f := range t.Fields {
		keys = append(keys, f.Key)
	}
	arrays := make([]string, 0, len(t.Arrays))
	for key := range t.Arrays {
		arrays = append(arrays, key)
	}
	slices.Sort(arrays)
	return append(keys, arrays...)
}

// after are the components that may follow a path.
func (t *Table) after(path []string) (next []string) {
	for _, key := range t.keys() {
		parts := strings.Split(key, ".")
		if len(parts) > len(path) && matches(parts, path) && !slices.Contains(next, parts[len(path)]) {
			next = append(next, parts[len(path)])
		}
	}
	return next
}
