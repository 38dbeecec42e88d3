package rig

import (
	"fmt"
	"math"
)

// Limits of the relative error of the pickup intervals: what the measures of a
// governor can bear, a hundredth of its usual speed band.
const (
	IntervalLimit      = 2e-4 // root mean square
	WorstIntervalLimit = 1e-3
)

// Health is how well the rig itself did over a stretch of a run: what the board
// lost, how old the news was that it acted on, and how true the pulses were to
// the plant.
type Health struct {
	// Frames counts telemetry frames taken in, FramesLost those missing from
	// their sequence.
	Frames, FramesLost int64
	// LateFrames counts frames at which the board had not yet applied the
	// drive that answered the frame before. On a slow wire that is nearly all
	// of them, and no fault.
	LateFrames int64
	// BadFrames, Overruns, LateEdges and LostCaptures are the board's own
	// counts.
	BadFrames, Overruns, LateEdges, LostCaptures int64
	// DelaySum, DelaySquares (the sum of the squares) and DelayMax are of the
	// loop delay, in ticks, from a telemetry moment to the moment its drive was
	// applied, be it late; Delays is their number.
	DelaySum, DelayMax int64
	DelaySquares       float64
	Delays             int64
	// Intervals counts the pickup intervals compared with the plant's own,
	// Unpaired the edges for which no pass of the plant was to be had.
	Intervals, Unpaired int64
	// SquareSum is of their relative errors, WorstInterval the largest.
	SquareSum, WorstInterval float64
}

// Add adds another stretch.
func (h *Health) Add(o Health) {
	h.Frames += o.Frames
	h.FramesLost += o.FramesLost
	h.LateFrames += o.LateFrames
	h.BadFrames += o.BadFrames
	h.Overruns += o.Overruns
	h.LateEdges += o.LateEdges
	h.LostCaptures += o.LostCaptures
	h.DelaySum += o.DelaySum
	h.DelaySquares += o.DelaySquares
	h.DelayMax = max(h.DelayMax, o.DelayMax)
	h.Delays += o.Delays
	h.Intervals += o.Intervals
	h.Unpaired += o.Unpaired
	h.SquareSum += o.SquareSum
	h.WorstInterval = math.Max(h.WorstInterval, o.WorstInterval)
}

// IntervalRMS is the root mean square of the relative interval error.
func (h *Health) IntervalRMS() float64 {
	return math.Sqrt(h.SquareSum / float64(max(1, h.Intervals)))
}

// Void says why a stretch cannot judge a governor; empty is that it can.
func (h *Health) Void() string {
	switch {
	case h.Lost() > 0:
		return fmt.Sprintf("%d messages were damaged or lost", h.Lost())
	case h.Unpaired > 0:
		return fmt.Sprintf("%d pickup pulses could not be compared with the engine", h.Unpaired)
	case h.WorstInterval > WorstIntervalLimit:
		return fmt.Sprintf("a pickup pulse came %.2g %% of its spacing wrong", 100*h.WorstInterval)
	case h.IntervalRMS() > IntervalLimit:
		return fmt.Sprintf("the spacing of the pickup pulses was %.2g %% wrong", 100*h.IntervalRMS())
	}
	return ""
}

// Lost counts the messages that were damaged or lost, either way.
func (h *Health) Lost() int64 { return h.FramesLost + h.BadFrames + h.Overruns }

// LoopDelay is the mean loop delay in ticks.
func (h *Health) LoopDelay() float64 { return float64(h.DelaySum) / float64(max(1, h.Delays)) }

// LoopDelaySpread is the standard deviation of the loop delay in ticks.
func (h *Health) LoopDelaySpread() float64 {
	mean := h.LoopDelay()
	return math.Sqrt(math.Max(0, h.DelaySquares/float64(max(1, h.Delays))-mean*mean))
}

func (h *Health) delay(ticks int64) {
	h.Delays++
	h.DelaySum += ticks
	h.DelaySquares += float64(ticks) * float64(ticks)
	h.DelayMax = max(h.DelayMax, ticks)
}

func (h *Health) interval(relative float64) {
	h.Intervals++
	h.SquareSum += relative * relative
	h.WorstInterval = math.Max(h.WorstInterval, math.Abs(relative))
}
