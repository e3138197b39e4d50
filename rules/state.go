package rules

// A State is a declared state of the equipment beside the working one, seen from the block.
type State struct {
	Name      string
	Measuring bool // the output is used in it
	*Bench         // what it hands out holds in that state
}

// States are the declared states of intent.
func (p *Bench) States() (out []State) {
	for _, s := range p.site.standings() {
		out = append(out, State{s.name, s.measuring, s.bench(p.rule)})
	}
	return out
}
