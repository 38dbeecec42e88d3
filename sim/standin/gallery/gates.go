package gallery

// gate says which edges of the pickup line are a pulse.
type gate interface {
	// edge takes in an edge to active or back, and gives the tick of the pulse
	// that it completes, if so.
	edge(tick int64, active bool) (at int64, ok bool)
	reset()
}

// leading counts the edge to active.
type leading struct{}

func (*leading) edge(tick int64, active bool) (int64, bool) { return tick, active }
func (*leading) reset()                                     {}

// both counts either edge.
type both struct{}

func (*both) edge(tick int64, _ bool) (int64, bool) { return tick, true }
func (*both) reset()                                {}

// wide counts the end of a pulse that was active for at least some ticks.
type wide struct{ least, began int64 }

func (g *wide) edge(tick int64, active bool) (int64, bool) {
	if active {
		g.began = tick
		return 0, false
	}
	return tick, g.began > 0 && tick-g.began >= g.least
}
func (g *wide) reset() { g.began = 0 }

// inverted has active and inactive the wrong way round, and counts only pulses
// that take less than half of their spacing, as a guard against just that.
type inverted struct{ began, before int64 }

func (g *inverted) edge(tick int64, active bool) (int64, bool) {
	if !active { // a pulse begins, as it has it
		g.before, g.began = g.began, tick
		return 0, false
	}
	return tick, g.before > 0 && 2*(tick-g.began) < g.began-g.before
}
func (g *inverted) reset() { *g = inverted{} }
