package parse

// Stopped says why the work on the netlist is to end early: the context that it was read with is done. It is nil while
// the work may go on. What was cut short holds less than the netlist says and is no ground for a judgement.
func (n *Netlist) Stopped() error {
	if n.ctx == nil {
		return nil
	}
	return n.ctx.Err()
}
