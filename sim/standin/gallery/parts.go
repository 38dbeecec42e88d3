package gallery

import "math"

// parts are what a governor is put together from, and its numbers. Times are
// in s, speeds in rad/s of the crankshaft, shares from 0 to 1.
type parts struct {
	gate   gate
	counts float64 // pulses of the gate that it takes for one of the machine's
	trust  trust
	filter filter
	law    law     // nil passes the stick through
	loop   float64 // period of the law; 0 runs it at the start of each throttle pulse

	on, off   float64 // shares of stick at which it engages and disengages
	least     float64 // speed below which it does not engage
	spool     float64 // rad/s²
	setting   func(w *Wiring, width float64) float64
	kind      SelectKind
	settings  int     // speeds that it can be set to; 0 is all
	lockout   bool    // does not engage before it has seen a low stick
	stickLoss float64 // without stick pulses for so long it closes; 0 goes on with the last
	// onStickLoss is Opens where it opens instead.
	onStickLoss Reaction
	most        float64 // that it opens the throttle

	loss   float64  // without pickup pulses for so long they count as lost
	onLoss Reaction // what it does then
	fall   float64  // time in which it closes then, from full throttle
	// patience is how long it Holds before it opens, s; 0 is for ever.
	patience float64

	frame  float64 // frames a second
	step   float64 // of the throttle pulse width, s
	jitter float64 // greatest, either way, s
	drop   float64 // share of frames that are missing
	seed   uint64
}

// SelectKind is what the select line does.
type SelectKind string

// The kinds of select lines.
const (
	Straight SelectKind = "straight"
	InSteps  SelectKind = "in steps"
	NoSelect SelectKind = "none"
)

// usual fills in what most governors have alike.
func usual(w Wiring) parts {
	return parts{
		gate: &leading{}, counts: 1, trust: &guarded{}, filter: &average{n: 2 * w.PulsesPerTurn},
		on: 0.32, off: 0.27, least: 0.25 * w.SpeedLow, spool: w.SpoolRate,
		setting: straight, kind: Straight, stickLoss: 0.5, onStickLoss: Closes, most: 1,
		loss: 0.2, onLoss: Closes,
		frame: 60, step: 1e-6, seed: 1,
	}
}

// straight is a speed setting that follows the select width between its ends.
func straight(w *Wiring, width float64) float64 {
	share := min(max((width-w.SelectLow)/(w.SelectHigh-w.SelectLow), 0), 1)
	return w.SpeedLow + share*(w.SpeedHigh-w.SpeedLow)
}

// inSteps gives n settings, evenly spread, each to an even share of the width.
func inSteps(n int) func(w *Wiring, width float64) float64 {
	return func(w *Wiring, width float64) float64 {
		share := min(max((width-w.SelectLow)/(w.SelectHigh-w.SelectLow), 0), 1)
		at := math.Min(math.Floor(share*float64(n)), float64(n-1))
		return w.SpeedLow + at/float64(n-1)*(w.SpeedHigh-w.SpeedLow)
	}
}

// fixed is one setting, a share of the way from the slowest to the fastest.
func fixed(share float64) func(w *Wiring, width float64) float64 {
	return func(w *Wiring, _ float64) float64 { return w.SpeedLow + share*(w.SpeedHigh-w.SpeedLow) }
}

// period is that of the law, s.
func (p *parts) period() float64 {
	if p.loop > 0 {
		return p.loop
	}
	return 1 / p.frame
}
