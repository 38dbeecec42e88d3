package execution

import (
	"sort"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/measure/train"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/rig/tick"
)

// Trace is a run as columns, one value a telemetry frame. Times are s from the
// start of the run, speeds rpm.
type Trace struct {
	Time, Speed, Played, Head, Throttle, Collective []float64
	Phase                                           []int
	Phases                                          []phase.Key
	// Pulses are the pulses that the board timed, one by one.
	Pulses []Pulse
	// Lowest and Highest are between which voltages the pickup probe was, V on the
	// pickup's line, window after window.
	Lowest, Highest []float64
	// Sent are the leading edges of pickup pulses that the board says it has
	// played, s: the newest of each telemetry frame.
	Sent []float64

	gone mark // what has been forgotten
}

// probeVolts is the voltage on a pickup's line that goes with the board's supply of
// 5 V at the probe, behind the probe's divider (firmware-notes, "Hall sensor with
// open collector").
const probeVolts = 2 * 5

// Pulse is one captured pulse, in s.
type Pulse = train.Pulse

func (t *Trace) add(s *runlog.Sample, phase int, loop *rig.Loop, tickRate float64) {
	t.Time = append(t.Time, float64(s.Ticks)/tickRate)
	t.Speed = append(t.Speed, s.State.EngineSpeed*RPM)
	t.Played = append(t.Played, s.Played*RPM)
	t.Head = append(t.Head, s.State.HeadSpeed*RPM)
	t.Throttle = append(t.Throttle, s.Throttle*1e6)
	t.Collective = append(t.Collective, s.Collective*Degrees)
	t.Phase = append(t.Phase, phase)
	for _, c := range loop.Captured() {
		t.Pulses = append(t.Pulses, Pulse{Start: float64(c.Start) / tickRate, Width: float64(c.Width) / tickRate})
	}
	if low, high, ok := loop.Levels(); ok {
		t.Lowest, t.Highest = append(t.Lowest, low*probeVolts), append(t.Highest, high*probeVolts)
	}
	if edge, ok := loop.Sent(); ok {
		t.Sent = append(t.Sent, float64(edge)/tickRate)
	}
}

// mark is a place in a trace: how much of it there was by then.
type mark struct{ samples, pulses, sent int }

// Mark is the present end of the trace.
func (t *Trace) Mark() mark {
	return mark{t.gone.samples + len(t.Time), t.gone.pulses + len(t.Pulses), t.gone.sent + len(t.Sent)}
}

// Since gives the part of the trace that was made after m, as far as it is not
// forgotten, without a pulse that began before it.
func (t *Trace) Since(m mark) Trace {
	i := max(0, m.samples-t.gone.samples)
	part := Trace{
		Time: t.Time[i:], Speed: t.Speed[i:], Played: t.Played[i:], Head: t.Head[i:], Throttle: t.Throttle[i:],
		Collective: t.Collective[i:], Phase: t.Phase[i:], Phases: t.Phases,
		Pulses: t.Pulses[max(0, m.pulses-t.gone.pulses):], Sent: t.Sent[max(0, m.sent-t.gone.sent):],
	}
	for len(part.Pulses) > 0 && len(part.Time) > 0 && part.Pulses[0].Start < part.Time[0] {
		part.Pulses = part.Pulses[1:]
	}
	return part
}

// Forget forgets all that there is of a trace but its phases. Parts that were taken
// of it stay as they are.
func (t *Trace) Forget() {
	*t = Trace{Phases: t.Phases, Lowest: t.Lowest, Highest: t.Highest, gone: t.Mark()}
}

// Calibrate scales times and speeds by the board's measured clock error, where
// it is known better than it is large: a board that counts fast makes every
// pulse come early, and so every speed too high.
func (t *Trace) Calibrate(session *rig.Session) {
	fast := BoardFast(session)
	for i := range t.Time {
		t.Time[i] /= 1 + fast
		t.Speed[i] *= 1 + fast
		t.Played[i] *= 1 + fast
		t.Head[i] *= 1 + fast
	}
}

// BoardFast is the share by which the board's clock is fast, or 0 where that is
// not known well enough.
func BoardFast(session *rig.Session) float64 {
	fast, uncertainty, ok := session.ClockError.Estimate()
	if !ok {
		return 0
	}
	return tick.Believed(fast, uncertainty)
}

// Span gives the samples from..to of the phase of a key; of several alike, of the
// first in this part of the trace.
func (t *Trace) Span(key phase.Key) (from, to int) {
	for i, n := range t.Phases {
		if n == key && len(t.Phase) > 0 && i >= t.Phase[0] {
			from = sort.Search(len(t.Phase), func(k int) bool { return t.Phase[k] >= i })
			to = sort.Search(len(t.Phase), func(k int) bool { return t.Phase[k] > i })
			return from, to
		}
	}
	return 0, 0
}

// speed is the engine speed over samples from..to.
func (t *Trace) EngineSpeed(from, to int) measure.Series {
	return measure.Series{T: t.Time[from:to], Y: t.Speed[from:to]}
}

// played is the engine speed that the governor was shown over samples from..to.
func (t *Trace) PlayedSpeed(from, to int) measure.Series {
	return measure.Series{T: t.Time[from:to], Y: t.Played[from:to]}
}

// head is the head speed over samples from..to.
func (t *Trace) HeadSpeed(from, to int) measure.Series {
	return measure.Series{T: t.Time[from:to], Y: t.Head[from:to]}
}
