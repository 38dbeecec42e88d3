package rig

import (
	"math"

	"govrig/protocol"
	"govrig/rig/link/tick"
)

// Health is how well the rig itself did: what the board lost, how late the
// host was, and how true the pulses were to the plant.
type Health struct {
	// Frames counts telemetry frames taken in, FramesLost those missing from
	// their sequence.
	Frames, FramesLost int64
	// LateFrames counts frames at which the board had not yet applied the
	// drive that answered the frame before.
	LateFrames int64
	// BadFrames, Overruns, LateEdges and LostCaptures are the board's own
	// counts since the first frame.
	BadFrames, Overruns, LateEdges, LostCaptures int64
	// DelaySum, DelaySquares (the sum of the squares) and DelayMax are of the
	// loop delay, in ticks, from a telemetry moment to the moment its drive was
	// applied, be it late; Delays is their number.
	DelaySum, DelayMax int64
	DelaySquares       float64
	Delays             int64
	// Intervals counts the pickup intervals compared with the plant's own.
	Intervals int64
	// SquareSum is of their relative errors, WorstInterval the largest.
	SquareSum, WorstInterval float64

	last  protocol.Telemetry
	asked [256]int64 // telemetry moment that the drive of each sequence answers
}

// Add adds what now has more than before, of the same loop.
func (h *Health) Add(now, before Health) {
	h.Frames += now.Frames - before.Frames
	h.FramesLost += now.FramesLost - before.FramesLost
	h.LateFrames += now.LateFrames - before.LateFrames
	h.BadFrames += now.BadFrames - before.BadFrames
	h.Overruns += now.Overruns - before.Overruns
	h.LateEdges += now.LateEdges - before.LateEdges
	h.LostCaptures += now.LostCaptures - before.LostCaptures
	h.DelaySum += now.DelaySum - before.DelaySum
	h.DelaySquares += now.DelaySquares - before.DelaySquares
	h.DelayMax = max(h.DelayMax, now.DelayMax)
	h.Delays += now.Delays - before.Delays
	h.Intervals += now.Intervals - before.Intervals
	h.SquareSum += now.SquareSum - before.SquareSum
	h.WorstInterval = math.Max(h.WorstInterval, now.WorstInterval)
}

// IntervalRMS is the root mean square of the relative interval error.
func (h *Health) IntervalRMS() float64 {
	return math.Sqrt(h.SquareSum / float64(max(1, h.Intervals)))
}

// LoopDelay is the mean loop delay in ticks.
func (h *Health) LoopDelay() float64 { return float64(h.DelaySum) / float64(max(1, h.Delays)) }

// LoopDelaySpread is the standard deviation of the loop delay in ticks.
func (h *Health) LoopDelaySpread() float64 {
	mean := h.LoopDelay()
	return math.Sqrt(math.Max(0, h.DelaySquares/float64(max(1, h.Delays))-mean*mean))
}

// frame takes in a telemetry frame; answered is the sequence of the newest
// drive sent.
func (h *Health) frame(t *protocol.Telemetry, now int64, answered uint8) {
	if h.Frames > 0 {
		h.FramesLost += int64(t.Sequence - h.last.Sequence - 1)
		h.BadFrames += int64(t.BadFrames - h.last.BadFrames)
		h.Overruns += int64(t.Overruns - h.last.Overruns)
		h.LateEdges += int64(t.LateEdges - h.last.LateEdges)
		h.LostCaptures += int64(t.LostCaptures - h.last.LostCaptures)
		h.answer(t, now, answered)
	}
	h.Frames++
	h.last, h.asked[answered+1] = *t, now
}

// answer looks at whether the drive to the frame before was applied, and after
// what time the newest that has been applied since was.
func (h *Health) answer(t *protocol.Telemetry, now int64, answered uint8) {
	driven := t.Flags&protocol.TelemetryDriven != 0
	if !driven || t.AppliedDrive != answered {
		h.LateFrames++
	}
	again := t.AppliedDrive == h.last.AppliedDrive && h.last.Flags&protocol.TelemetryDriven != 0
	ours := h.Frames > 255 || int64(t.AppliedDrive-1) < h.Frames // and not of the loop before
	if !driven || again || !ours {
		return
	}
	delay := tick.Before24(now, t.AppliedTicks) - h.asked[t.AppliedDrive]
	h.Delays++
	h.DelaySum += delay
	h.DelaySquares += float64(delay) * float64(delay)
	h.DelayMax = max(h.DelayMax, delay)
}

// disturbance is how many of the compared intervals after an order of a fault
// may be other than the plant's: two up to edges that came before the order was
// applied, that to the next edge, at which the fault begins, and those to a
// stray pulse and from it.
const disturbance = 5

// sentEdges compares the pickup edges that the board has sent with the
// plant's own passes.
type sentEdges struct {
	count     uint8
	counted   bool
	edge      int64   // newest edge compared
	pass      float64 // the plant's pass that goes with it
	paired    bool
	disturbed int // a fault was ordered: so many of the next intervals are not the plant's
	waiting   int64
	waits     bool
	since     int64 // edges sent since the one compared
}

// take looks at the newest edge of t; it is compared as soon as the plant has
// gone past it.
func (s *sentEdges) take(t *protocol.Telemetry, now int64, p *passes, h *Health) {
	if s.waits {
		s.compare(p, h)
	}
	sent := int64(t.PickupCount - s.count)
	s.count = t.PickupCount
	if !s.counted || t.Flags&protocol.TelemetryPlaying == 0 {
		s.counted, s.paired, s.waits, s.since = true, false, false, 0
		return
	}
	if sent > 0 {
		s.waiting, s.waits = tick.Before24(now, t.PickupTicks), true
		s.since += sent
	}
}

// compare pairs the waiting edge with the plant's nearest pass and takes the
// interval since the pair before. After a long stall of the host the pass is
// too old to be known; then there is no pair.
func (s *sentEdges) compare(p *passes, h *Health) {
	nearest, distance := 0.0, math.Inf(1)
	for i := range p.kept() {
		if d := math.Abs(p.newest(i) - float64(s.waiting)); d < distance {
			nearest, distance = p.newest(i), d
		}
	}
	near := p.kept() > 1 && distance < (p.newest(0)-p.newest(1))/2
	if near && s.paired && s.disturbed == 0 && s.since > 0 && nearest > s.pass {
		want := (nearest - s.pass) / float64(s.since)
		got := float64(s.waiting-s.edge) / float64(s.since)
		h.interval(got/want - 1)
	}
	s.edge, s.pass, s.paired, s.waits, s.since = s.waiting, nearest, near, false, 0
	s.disturbed = max(0, s.disturbed-1)
}

func (h *Health) interval(relative float64) {
	h.Intervals++
	h.SquareSum += relative * relative
	h.WorstInterval = math.Max(h.WorstInterval, math.Abs(relative))
}
