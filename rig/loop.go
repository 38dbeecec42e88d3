package rig

import (
	"errors"
	"math"
	"slices"
	"time"

	"govrig/protocol"
	"govrig/rig/runlog"
	"govrig/rig/tick"
	"govrig/sim"
)

// ErrBackwards is telemetry whose tick lies before that of the frame before.
var ErrBackwards = errors.New("the board's clock went backwards: it was restarted, or messages came in the wrong order")

// stillPeriod is how long a pickup period may become before the engine counts
// as standing still, in seconds.
const stillPeriod = 0.4

// startTime is how far ahead, s, the first edge of a play lies at least, so that
// the drive that orders it comes well before it.
const startTime = 3e-3

// Setup is what a loop needs to know of its plant and its board.
type Setup struct {
	// Plant is the simulated machine, at its start. The loop owns it.
	Plant sim.Plant
	// StepTicks is the length of one plant step in ticks of the board.
	StepTicks int64
	// TickRate is the board's nominal tick rate, 1/s.
	TickRate float64
	// Magnets is how many pickup pulses one crank revolution makes.
	Magnets int
}

// Captured is a pulse that the board timed.
type Captured struct {
	Start int64 // ticks from the start of the run
	Width int64 // ticks
}

// Loop is the host's half of the closed loop: a pure function from each
// telemetry frame to the drive that answers it. It reads no clock.
type Loop struct {
	setup  Setup
	script Script
	future future

	clock    tick.Extender
	zero     int64 // tick that moments are counted from
	origin   int64 // tick of the first frame
	timed    bool  // clock and zero are the session's
	started  bool
	now      int64 // tick of the newest frame
	step     int64 // plant steps done
	at       cursor
	phase    int // phase whose faults have been ordered
	sequence uint8
	playing  bool       // pulses were ordered by the newest drive
	earliest float64    // tick before which no edge is ordered
	ordered  [256]train // by the drive of each sequence; of no period by one that plays nothing
	begun    int        // pass that the play began with
	sure     sure

	settling settling
	throttle throttle
	answers  answers
	sent     sentEdges
	health   Health
	byPhase  []Health
	passes   passes
	passed   passed
	coming   coming
	sample   runlog.Sample

	edges protocol.Edges // the newest

	levels      protocol.Levels // of the probe, the newest
	told, fresh bool            // they came since the newest frame; before it

	captured    [protocol.MaxPulses]Captured
	capturedLen int
}

// NewLoop gives a loop at the start of script.
func NewLoop(setup Setup, script Script) *Loop {
	script.Phases = slices.Clone(script.Phases)
	script.step = float64(setup.StepTicks) / setup.TickRate
	l := &Loop{setup: setup, script: script, future: future{plant: setup.Plant.Fork()}, phase: -1}
	l.byPhase = make([]Health, len(script.Phases))
	l.answers.rate = setup.TickRate
	l.passes.spacing = 2 * math.Pi / float64(setup.Magnets)
	l.passes.next = l.passes.spacing
	return l
}

// Sample gives the plant and the orders after the newest step.
func (l *Loop) Sample() *runlog.Sample { return &l.sample }

// Health tells how well the rig itself did so far.
func (l *Loop) Health() Health { return l.health }

// PhaseHealth tells how well it did in one phase, by its number. Edges count to
// the phase in which they were told.
func (l *Loop) PhaseHealth(phase int) Health { return l.byPhase[phase] }

// Done reports whether the script has ended.
func (l *Loop) Done() bool { return l.started && l.step >= l.script.Steps() }

// Append adds phases to the end of the script. A loop that is done goes on
// with them; they begin at the step that has been reached.
func (l *Loop) Append(phases ...Phase) {
	l.script.Phases = append(l.script.Phases, phases...)
	l.byPhase = append(l.byPhase, make([]Health, len(phases))...)
	l.settling.failed = false
	l.future.holds = false
}

// Phases is how many phases the script has.
func (l *Loop) Phases() int { return len(l.script.Phases) }

// Cut ends the present phase here.
func (l *Loop) Cut() {
	phase := l.at.at(&l.script, l.step)
	phase.Steps = l.step - l.at.start
	l.future.holds = false
}

// Captured gives the pulses that the newest telemetry frame brought, oldest
// first. The slice is valid until the next Step.
func (l *Loop) Captured() []Captured { return l.captured[:l.capturedLen] }

// Sent gives the leading edge of the newest pickup pulse that the board has
// played since the frame before, in ticks from the start of the run; ok is
// false when there was none.
func (l *Loop) Sent() (edge int64, ok bool) { return l.sent.newest - l.zero, l.sent.fresh }

// Levels gives between which levels the pickup probe was, as shares of the board's
// supply, when the board has told that between the newest two frames.
func (l *Loop) Levels() (lowest, highest float64, ok bool) {
	const scale = protocol.LevelsScale
	return float64(l.levels.Lowest) / scale, float64(l.levels.Highest) / scale, l.fresh
}

// High reports whether the captured line was high at the newest frame.
func (l *Loop) High() bool { return l.answers.last.Flags&protocol.TelemetryCaptureHigh != 0 }

// Unsettled gives the name of the phase in which the engine did not become
// steady, which ended the run, or nothing.
func (l *Loop) Unsettled() string {
	if !l.settling.failed {
		return ""
	}
	return l.script.Phases[len(l.script.Phases)-1].Name
}

// Time is the board time since the start of the run, s.
func (l *Loop) Time() float64 { return float64(l.now-l.zero) / l.setup.TickRate }

// begin puts a loop that has not started on a clock that is running: moments
// are counted from zero.
func (l *Loop) begin(clock tick.Extender, zero int64) {
	if !l.started {
		l.clock, l.zero, l.timed = clock, zero, true
	}
}

// Step takes in a telemetry frame, moves the plant up to its moment, and fills
// in the drive that answers it.
func (l *Loop) Step(t *protocol.Telemetry, d *protocol.Drive) error {
	now := l.clock.Extend(t.Ticks)
	if !l.started {
		l.origin, l.now, l.started = now, now, true
		if !l.timed {
			l.zero = now
		}
	}
	if now < l.now {
		return ErrBackwards
	}
	l.now = now
	l.fresh, l.told = l.told, false
	l.capture(t)
	var h Health
	l.answers.frame(t, now, l.sequence, &h)
	l.advance((now - l.origin) / l.setup.StepTicks)
	l.sent.take(t, &l.edges, now, &l.passed, &h)
	l.health.Add(h)
	l.byPhase[l.at.phase].Add(h)
	l.order(d)
	l.keep()
	return nil
}

// capture takes in the pulses that the board has timed.
func (l *Loop) capture(t *protocol.Telemetry) {
	l.capturedLen = t.PulsesLen
	for i, p := range t.Pulses[:t.PulsesLen] {
		start := tick.Before24(l.now, p.StartTicks)
		l.captured[i] = Captured{Start: start - l.zero, Width: int64(p.WidthTicks)}
		l.throttle.take(start, int64(p.WidthTicks))
	}
}

// advance steps the plant to the given step, noting when each magnet passed.
func (l *Loop) advance(to int64) {
	for ; l.step < to; l.step++ {
		start := l.origin + l.step*l.setup.StepTicks
		l.throttle.until(start, l.setup.TickRate)
		l.future.holds = l.future.holds && l.throttle.width == l.future.throttle.at(start)
		before := l.setup.Plant.State()
		l.at.swayed(&l.script, l.step, &before)
		l.setup.Plant.Step(l.input(&l.at, l.step, l.throttle.width))
		after := l.setup.Plant.State()
		l.settle(after.EngineSpeed)
		l.at.swayed(&l.script, l.step+1, &after)
		l.passes.step(start, l.setup.StepTicks, &before, &after, l.setup.TickRate, l.passed.add)
	}
}

func (l *Loop) input(at *cursor, step int64, throttle float64) sim.Input {
	collective, turn := at.load(&l.script, step)
	return sim.Input{ThrottlePulse: throttle, Collective: collective, Turn: turn}
}

// order fills in the drive for the present moment.
func (l *Loop) order(d *protocol.Drive) {
	phase := l.at.at(&l.script, l.step)
	l.sequence++
	*d = protocol.Drive{
		Sequence:    l.sequence,
		StickTicks:  l.widthTicks(phase.Stick),
		SelectTicks: l.widthTicks(phase.Select),
	}
	if l.phase != l.at.phase {
		l.phase = l.at.phase
		d.FaultsLen = copy(d.Faults[:], phase.Faults)
		if d.FaultsLen > 0 {
			l.sent.fault(l.sequence)
		}
	}
	l.ordered[l.sequence] = train{}
	if !phase.Mute {
		l.place(d)
	}
	l.playing = d.Flags&protocol.DrivePlay != 0
}

func (l *Loop) widthTicks(width time.Duration) uint16 {
	return uint16(math.Round(width.Seconds() * l.setup.TickRate))
}

// keep notes the sample of this step.
func (l *Loop) keep() {
	phase := l.at.at(&l.script, l.step)
	collective, _ := l.at.load(&l.script, l.step)
	played := l.setup.Plant.State()
	l.at.swayed(&l.script, l.step, &played)
	l.sample = runlog.Sample{
		Step: l.step, Ticks: l.now - l.zero, State: l.setup.Plant.State(),
		Played: played.EngineSpeed, Throttle: l.throttle.width, Collective: collective,
		Stick: phase.Stick, Select: phase.Select, Phase: l.at.phase,
	}
}
