package parse

import "testing"

// Sections of a library file: the one that is named is read, sections may call others of the same file, and a .lib card
// with one word names a file where no section starts.
func TestLibrarySections(t *testing.T) {
	const corners = "* corners\n.model outside r\n.lib tt\nR1 tt 0 1\n.lib 'corners.lib' core\n.endl tt\n" +
		".LIB SS\nR1 ss 0 1\n.endl\n.lib core\nR2 core 0 2\n.endl\n"
	for _, c := range []struct{ text, cards, diag string }{
		{".lib 'corners.lib' tt", "R R1 tt 0 = 1\nR R2 core 0 = 2", ""},
		{".lib corners.lib ss\nR3 a b 3", "R R1 ss 0 = 1\nR R3 a b = 3", ""},
		{".lib \"corners.lib\" SS", "R R1 ss 0 = 1", ""},
		{".lib corners.lib", "", ""}, // what stands outside of its sections
		{".include corners.lib\nR3 a b 3", "R R3 a b = 3", ""},
		{".lib corners.lib st", "", `deck.cir:2:1-2:20 netlist-include: corners.lib has no section "st"; did you mean "SS"?`},
		{".lib corners.lib fast", "", `deck.cir:2:1-2:22 netlist-include: corners.lib has no section "fast"; it has tt, SS, core`},
		{".lib ring.lib a", "R R1 a 0 = 1", `ring.lib:5:1-5:16 netlist-include: "ring.lib" includes itself: ring.lib (a) -> ring.lib (b) -> ring.lib (a)`},
		{".lib open.lib a", "R R1 a 0 = 1", "open.lib:1:1-1:7 netlist-card: the section a has no .endl"},
		{".lib twice.lib a", "R R1 a 0 = 1", "twice.lib:3:1-3:7 netlist-card: section b starts inside section a, which has no .endl"},
	} {
		n, diags := deck(t, c.text, "corners.lib", corners,
			"ring.lib", ".lib a\n.lib ring.lib b\n.endl\n.lib b\n.lib ring.lib a\nR1 a 0 1\n.endl\n",
			"open.lib", ".lib a\nR1 a 0 1\n",
			"twice.lib", ".lib a\nR1 a 0 1\n.lib b\nR2 b 0 1\n.endl\n")
		same(t, c.text, drawnAll(n), lines(c.cards))
		same(t, c.text, diags, lines(c.diag))
	}
}

// A file read for one section stays within it even where control blocks and choices stand in it.
func TestSectionWithChoices(t *testing.T) {
	n, diags := deck(t, ".lib x.lib a\n", "x.lib", ".lib b\n.if 1\nR1 b 0 1\n.endl\n.lib a\n.if x\nR1 a 0 1\n.else\nR1 a 0 2\n.endif\n.endl\n")
	same(t, "diagnostics", diags, nil)
	same(t, "cards", drawnAll(n), []string{"R R1 a 0 = 1", "R R1 a 0 = 2"})
	if n.CardGuard(0) == 0 || n.CardGuard(0) == n.CardGuard(1) {
		t.Errorf("guards %d and %d", n.CardGuard(0), n.CardGuard(1))
	}
}

func TestFirstLineAsCard(t *testing.T) {
	for text, want := range map[string]string{
		"R1 a b 10k\nR2 a b 5": "R R1 a b = 10000\nR R2 a b = 5",
		"* c\nR2 a b 5":        "R R2 a b = 5",
		"":                     "",
	} {
		n, diags := readWith(t, text, Options{FirstIsCard: true})
		same(t, text, drawnAll(n), lines(want))
		same(t, text, diags, nil)
		if !n.Title.None() {
			t.Errorf("%q: title %q", text, n.Src.Text(n.Title))
		}
	}
}
