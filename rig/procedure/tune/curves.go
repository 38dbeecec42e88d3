package tune

import (
	"math"

	"govrig/rig/runlog"
)

// keptGains are the positions of the gain that were measured, as a record keeps
// them.
func keptGains(points []TunePoint) (all []runlog.GainPosition) {
	for _, p := range points {
		if p.Why != "" {
			continue
		}
		g := runlog.GainPosition{Position: p.Position, Gain: p.Gain, Dip: p.Dip}
		if !math.IsNaN(p.Phase) {
			g.Phase = &p.Phase
		}
		if !math.IsNaN(p.Margin) {
			g.Margin = &p.Margin
		}
		all = append(all, g)
	}
	return all
}
