//go:build !linux

package house

// confine has nothing to bound memory with here; watch ends a child that takes too much.
func confine() {}
