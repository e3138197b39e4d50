package volt_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/mat"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A solution is a DC network's: node voltages, and currents of cards from their first to their second node.
type solution struct {
	volts, amps map[string]float64
	largest     float64 // of the voltages
	most        float64 // of the currents
}

// solveDeck reads cards of R, V, I, E, F, G and H and solves them by modified nodal analysis (SPICE3f3 User's Manual, 3.1
// and 3.2, for what the cards mean): an unknown for each node and for each current of a V, E or H.
func solveDeck(lines []string) (s solution, err error) {
	type card struct {
		name  string
		nodes []int
		of    string
		value float64
		row   int
	}
	nodes := map[string]int{"0": -1}
	node := func(name string) int {
		name = strings.ToLower(name)
		if _, ok := nodes[name]; !ok {
			nodes[name] = len(nodes) - 1
		}
		return nodes[name]
	}
	var cards []card
	seen := map[string]*card{}
	for _, line := range lines[1:] {
		if line[0] == '*' || line[0] == '.' {
			continue
		}
		w := strings.Fields(strings.ToLower(line))
		c := card{name: w[0], row: -1}
		want := map[byte]int{'r': 4, 'v': 4, 'i': 4, 'e': 6, 'g': 6, 'f': 5, 'h': 5}[w[0][0]]
		if want != len(w) {
			return s, fmt.Errorf("what is this? %s", line)
		}
		for _, n := range w[1 : want-1] {
			if want == 5 && len(c.nodes) == 2 {
				c.of = n
			} else {
				c.nodes = append(c.nodes, node(n))
			}
		}
		if c.value, err = strconv.ParseFloat(w[want-1], 64); err != nil {
			return s, err
		}
		if seen[c.name] != nil {
			return s, fmt.Errorf("twice: %s", c.name)
		}
		seen[c.name] = &c
		cards = append(cards, c)
	}
	size := len(nodes) - 1
	rows := map[string]int{}
	for i := range cards {
		switch cards[i].name[0] {
		case 'v', 'e', 'h':
			cards[i].row = size
			rows[cards[i].name] = size
			size++
		}
	}
	a, z := mat.NewDense(size, size, nil), mat.NewVecDense(size, nil)
	add := func(r, c int, v float64) {
		if r >= 0 && c >= 0 {
			a.Set(r, c, a.At(r, c)+v)
		}
	}
	feed := func(r int, v float64) {
		if r >= 0 {
			z.SetVec(r, z.AtVec(r)+v)
		}
	}
	for _, c := range cards {
		p, n := c.nodes[0], c.nodes[1]
		if c.row >= 0 {
			add(p, c.row, 1)
			add(n, c.row, -1)
			add(c.row, p, 1)
			add(c.row, n, -1)
		}
		switch c.name[0] {
		case 'r':
			add(p, p, 1/c.value)
			add(n, n, 1/c.value)
			add(p, n, -1/c.value)
			add(n, p, -1/c.value)
		case 'v':
			feed(c.row, c.value)
		case 'i':
			feed(p, -c.value)
			feed(n, c.value)
		case 'e':
			add(c.row, c.nodes[2], -c.value)
			add(c.row, c.nodes[3], c.value)
		case 'g':
			for k, sign := range []float64{1, -1} {
				add(p, c.nodes[2+k], sign*c.value)
				add(n, c.nodes[2+k], -sign*c.value)
			}
		case 'f', 'h':
			row, ok := rows[c.of]
			if !ok {
				return s, fmt.Errorf("%s follows %s, which is no source", c.name, c.of)
			}
			if c.name[0] == 'h' {
				add(c.row, row, -c.value)
			} else {
				add(p, row, c.value)
				add(n, row, -c.value)
			}
		}
	}
	var x mat.VecDense
	var lu mat.LU
	lu.Factorize(a)
	if err := lu.SolveVecTo(&x, false, z); err != nil && math.IsInf(lu.Cond(), 1) {
		return s, err
	}
	s = solution{volts: map[string]float64{"0": 0}, amps: map[string]float64{}}
	for name, k := range nodes {
		if k >= 0 {
			s.volts[name] = x.AtVec(k)
			s.largest = max(s.largest, math.Abs(x.AtVec(k)))
		}
	}
	at := func(n int) float64 {
		if n < 0 {
			return 0
		}
		return x.AtVec(n)
	}
	for _, c := range cards {
		switch {
		case c.row >= 0:
			s.amps[c.name] = x.AtVec(c.row)
		case c.name[0] == 'r':
			s.amps[c.name] = (at(c.nodes[0]) - at(c.nodes[1])) / c.value
		case c.name[0] == 'i':
			s.amps[c.name] = c.value
		}
	}
	for _, i := range s.amps {
		s.most = max(s.most, math.Abs(i))
	}
	return s, nil
}

var valueLine = regexp.MustCompile(`^\* value: ([vi])\(([^,()]+)(?:,([^()]+))?\) = (\S+) [AV]$`)

// resolve solves a witness deck and compares what it was written for with the end that it names and with want.
func resolve(lines []string, want float64) error {
	s, err := solveDeck(lines)
	if err != nil {
		return err
	}
	for _, line := range lines {
		m := valueLine.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		of, ok := s.volts, true
		if m[1] == "i" {
			of = s.amps
		}
		got, ok := of[strings.ToLower(m[2])]
		if !ok {
			return fmt.Errorf("nothing is called %s", m[2])
		}
		if m[3] != "" {
			got -= of[strings.ToLower(m[3])]
		}
		named, err := strconv.ParseFloat(m[4], 64)
		if err != nil {
			return err
		}
		size := 1e-6 * max(s.largest, 1e-3)
		if m[1] == "i" {
			size = 1e-6 * max(s.most, 1e-6)
		}
		if math.Abs(got-want) > size || named != want {
			return fmt.Errorf("%s is %.12g when it is solved, the end is %.12g", line, got, want)
		}
		return nil
	}
	return fmt.Errorf("no value is named")
}

// reproduces holds both finite ends of a bound against their witness decks.
func reproduces(t need, q quantity.Quantity, deck func(high bool) ([]string, error)) {
	t.Helper()
	for high, end := range map[bool]float64{false: q.Seen.Lo, true: q.Seen.Hi} {
		if q.Seen.Empty() || math.IsInf(end, 0) {
			continue
		}
		lines, err := deck(high)
		if err == nil {
			err = resolve(lines, end)
		}
		if err != nil {
			t.Fatalf("%s, high %v: %v\n%s", q.Name, high, err, strings.Join(lines, "\n"))
		}
	}
}

// witnessed is a bound whose ends are solved again from their witness decks.
func witnessed(t need, s *volt.Solver, f volt.Form, r design.Regime) quantity.Quantity {
	t.Helper()
	q := s.Bound(f, r)
	if len(f) == 1 && f[0].Net == 0 {
		return q
	}
	reproduces(t, q, func(high bool) ([]string, error) { return s.Deck(f, r, q, high) })
	return q
}

// amps is the operating bound of an element's current.
func amps(t need, d *design.Design, path string) quantity.Quantity {
	t.Helper()
	e, ok := d.Find(path)
	if !ok {
		t.Fatalf("no element %q", path)
	}
	s := volt.New(d)
	q := s.Current(e, design.Operating)
	if q.Unit != quantity.Amp {
		t.Fatalf("the current of %s is in %v", path, q.Unit)
	}
	if _, declared := e.Current(design.Operating); !declared {
		reproduces(t, q, func(high bool) ([]string, error) { return s.CurrentDeck(e, design.Operating, q, high) })
	}
	return q
}
