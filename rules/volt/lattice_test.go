package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// resistance is the nominal voltage that 1 A makes from a node to ground.
func resistance(t *testing.T, deck, node string) float64 {
	t.Helper()
	return voltage(t, load(t, deck+"\nIA 0 "+node+" 1", ""), node).Nom
}

// Between neighbours of an infinite square grid of 1 ohm there is 1/2 ohm: by symmetry half of the current takes the
// resistor between them (a textbook problem; P. G. Doyle, J. L. Snell, "Random Walks and Electric Networks", treat the
// lattices). Grids that grow come nearer, four times with twice the side.
func TestGrowingGridApproachesHalfAnOhm(t *testing.T) {
	last := math.Inf(1)
	for _, side := range []int{6, 12, 24, 48} {
		var b strings.Builder
		name := func(r, c int) string {
			if r == side/2 && c == side/2 {
				return "0"
			}
			return fmt.Sprint("n", r, "_", c)
		}
		for r := range side + 1 {
			for c := range side + 1 {
				if c < side {
					fmt.Fprintf(&b, "RH%d_%d %s %s 1\n", r, c, name(r, c), name(r, c+1))
				}
				if r < side {
					fmt.Fprintf(&b, "RV%d_%d %s %s 1\n", r, c, name(r, c), name(r+1, c))
				}
			}
		}
		off := resistance(t, b.String(), name(side/2, side/2+1)) - 0.5
		if !(off > 0 && off < last/3) {
			t.Errorf("side %d: 1/2 ohm and %g, with half the side %g", side, off, last)
		}
		last = off
	}
	if last > 1e-3 {
		t.Errorf("still off by %g ohm", last)
	}
}

// An infinite ladder of 2 x 1 ohm in series and 1 ohm across has (1 + sqrt 3) ohm: R = 2 + R / (1 + R).
func TestGrowingLadderApproachesItsLimit(t *testing.T) {
	last := math.Inf(1)
	for _, sections := range []int{1, 2, 4, 8} {
		var b strings.Builder
		for k := range sections {
			fmt.Fprintf(&b, "RA%d n%d n%d 2\nRB%d n%d 0 1\n", k, k, k+1, k, k+1)
		}
		off := math.Abs(resistance(t, b.String(), "n0") - 1 - math.Sqrt(3))
		if off > last/10 {
			t.Errorf("%d sections are off by %g, half of them by %g", sections, off, last)
		}
		last = off
	}
}

// A cube of four dimensions has 2/3 ohm between opposite corners: by symmetry 4, 12, 12 and 4 of its 32 edges are in
// parallel between the shells, 1/4 + 1/12 + 1/12 + 1/4.
func TestCubeOfFourDimensions(t *testing.T) {
	var b strings.Builder
	name := func(k int) string { return strings.Replace(fmt.Sprint("n", k), "n0", "0", 1) }
	for k := range 16 {
		for bit := range 4 {
			if other := k | 1<<bit; other != k {
				fmt.Fprintf(&b, "R%d_%d %s %s 1\n", k, bit, name(k), name(other))
			}
		}
	}
	if got := resistance(t, b.String(), "n15"); math.Abs(got-2./3) > 1e-12 {
		t.Errorf("%v ohm", got)
	}
}

// An R-2R ladder of three bits, terminated, gives 0.625 V a step of a 5 V code: "Lessons In Electric Circuits", Digital,
// ch. 13; its resistance is R, so that 1 mA out of it takes 1 V.
func TestLadderConverter(t *testing.T) {
	for code := range 8 {
		var b strings.Builder
		for bit := range 3 {
			fmt.Fprintf(&b, "V%d b%d 0 %d\nRB%d b%d n%d 2k\n", bit, bit, 5*(code>>bit&1), bit, bit, bit)
		}
		b.WriteString("RT n0 0 2k\nR01 n0 n1 1k\nR12 n1 n2 1k")
		want := 0.625 * float64(code)
		if got := voltage(t, load(t, b.String(), ""), "n2").Nom; math.Abs(got-want) > 1e-12 {
			t.Errorf("code %d: %v V, want %v V", code, got, want)
		}
		if got := voltage(t, load(t, b.String()+"\nIL n2 0 1m", ""), "n2").Nom; math.Abs(got-want+1) > 1e-12 {
			t.Errorf("code %d with 1 mA: %v V, want %v V", code, got, want-1)
		}
	}
}
