package sparse

// FactorDensely and FactorSparsely are Factor with the way given, whatever the size.
func FactorDensely(m *Matrix) (*LU, error)  { return factorBy(m, &dense{}) }
func FactorSparsely(m *Matrix) (*LU, error) { return factorBy(m, &panels{}) }

func factorBy(m *Matrix, way factors) (*LU, error) {
	f := &LU{way: way}
	if _, err := f.a.load(m); err != nil {
		return nil, err
	}
	if err := f.factor(false); err != nil {
		return nil, err
	}
	return f, nil
}

// Fill is how many entries L has below the diagonal and U above it, of a matrix factored sparsely.
func (f *LU) Fill() (lower, upper int) {
	p := f.way.(*panels)
	return len(p.lower), len(p.upper)
}

// Sparsely tells which way was taken.
func (f *LU) Sparsely() bool {
	_, is := f.way.(*panels)
	return is
}
