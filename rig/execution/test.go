package execution

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/heli"
	"govrig/sim/words"
)

// StepTicks is the length of a plant step in board ticks, StepTime in s.
const (
	StepTicks = 4_000
	StepTime  = float64(StepTicks) / protocol.TickHz
)

const (
	RPM     = 60 / (2 * math.Pi) // from rad/s
	Degrees = 180 / math.Pi      // from rad
)

// Test is a procedure under way.
type Test struct {
	ctx     context.Context
	Bench   *Bench
	Session *rig.Session
	Loop    *rig.Loop
	Record  *runlog.Writer
	Run     *Run
	Sheet   *measure.Sheet
	Health  rig.Health // of the phases played, but for those played again
	again   again

	done func(part Trace) bool // ends the phase under way early; nil never does
}

func newTest(ctx context.Context, b *Bench, session *rig.Session, r *Run, p Plan) *Test {
	declared := append(p.Declared, HealthMeasures...)
	if p.Quiet {
		declared = append(p.Declared, HealthMeasures[pulseMeasures:]...)
	}
	return &Test{
		ctx: ctx, Bench: b, Session: session, Run: r, again: again{spent: p.Once},
		Sheet: measure.NewSheet(p.Name, virtual(&session.Identity), declared...),
	}
}

// Use begins a loop around a plant made for steps of the given length, s.
func (t *Test) Use(plant func(step float64) sim.Plant) {
	hz := float64(t.Session.Identity.TickHz)
	magnets := 1
	if t.Bench.Machine != nil {
		magnets = t.Bench.Machine.Governor.PulsesPerTurn
	}
	t.again.plant, t.again.lead = plant, nil
	t.Loop = rig.NewLoop(rig.Setup{
		Plant: plant(StepTicks / hz), StepTicks: StepTicks, TickRate: hz, Magnets: magnets,
	}, rig.Script{})
}

// Helicopter begins a loop around the simulated machine, idling.
func (t *Test) Helicopter() {
	p := t.Bench.Machine.HeliParams()
	t.Record.Event(runlog.EventPlant, runlog.Plant{Kind: "helicopter", Parameters: p})
	t.Use(func(step float64) sim.Plant { return heli.New(p, step) })
}

// playOnce plays phases, well or not. The part is theirs, without the notice that a
// change at their start needs.
func (t *Test) playOnce(phases ...rig.Phase) (p played, err error) {
	notice := 0
	if hold, ok := t.Loop.Notice(&phases[0]); ok {
		hold.Key = phase.Of(phase.Notice)
		phases, notice = append([]rig.Phase{hold}, phases...), 1
	}
	at := t.Loop.Phases()
	offset := t.append(phases) - at
	from := t.Run.Trace.Mark()
	err = t.Session.Run(t.ctx, t.Loop, t.Record, func(s *runlog.Sample) {
		tickRate := float64(t.Session.Identity.TickHz)
		t.Run.Trace.add(s, s.Phase+offset, t.Loop, tickRate)
		t.Run.Course.Add(float64(s.Ticks)/tickRate, s.State.HeadSpeed*RPM, s.Phase+offset)
		if t.Bench.Progress != nil {
			t.Bench.Progress(t.called(s.Phase+offset), s)
		}
		if s.Phase < at+notice {
			from = t.Run.Trace.Mark()
		} else if t.done != nil && t.done(t.Run.Trace.Since(from)) {
			t.Loop.Cut()
		}
	})
	for n := at; n < t.Loop.Phases(); n++ {
		h := t.Loop.PhaseHealth(n)
		p.health.Add(h)
		if why := h.Void(); why != "" && p.void == "" {
			p.void, p.phase = why, n+offset
		}
	}
	p.part, p.settled = t.Run.Trace.Since(from), t.Loop.Unsettled() == ""
	return p, err
}

// called is what a person reads of a phase. A notice is the beginning of the phase
// that it gives notice of.
func (t *Test) called(n int) string {
	phases := t.Run.Trace.Phases
	if phases[n].Kind == phase.Notice && n+1 < len(phases) {
		n++
	}
	return phases[n].String()
}

// append puts phases at the end of trace, record and loop, and gives the number of the
// first in the trace.
func (t *Test) append(phases []rig.Phase) (first int) {
	first = len(t.Run.Trace.Phases)
	for i, phase := range phases {
		phases[i].Name = phase.Key.String()
		t.Run.Trace.Phases = append(t.Run.Trace.Phases, phase.Key)
	}
	t.Record.Event(runlog.EventPhases, phases)
	t.Record.Phases(first - t.Loop.Phases())
	t.Loop.Append(phases...)
	return first
}

// PlayUntil plays a phase, which ends early when done says so of what it has
// made so far.
func (t *Test) PlayUntil(phase rig.Phase, done func(part Trace) bool) (Trace, error) {
	t.done = done
	defer func() { t.done = nil }()
	part, _, err := t.Play(phase)
	return part, err
}

// Configure sets the board up anew; a loop has to be begun after it.
func (t *Test) Configure(s rig.Settings) error {
	s.Baud = t.Bench.Connection.Baud
	t.Record.Event(runlog.EventSettings, s)
	return t.Session.Configure(t.ctx, s)
}

// Found notes what was found, for the end and for now.
func (t *Test) Found(format string, args ...any) {
	sentence := words.Unsigned(fmt.Sprintf(format, args...))
	t.Run.Found = append(t.Run.Found, sentence)
	t.Bench.Tell(sentence)
}

// FoundOnce notes what was found, unless that has been noted.
func (t *Test) FoundOnce(format string, args ...any) {
	if sentence := words.Unsigned(fmt.Sprintf(format, args...)); !slices.Contains(t.Run.Found, sentence) {
		t.Found("%s", sentence)
	}
}

// Next notes what to do next, once.
func (t *Test) Next(format string, args ...any) {
	if sentence := words.Unsigned(fmt.Sprintf(format, args...)); !slices.Contains(t.Run.Next, sentence) {
		t.Run.Next = append(t.Run.Next, sentence)
	}
}

func Seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

// Steps is a time in s as a number of plant steps, on a board of 16 MHz.
func Steps(s float64) int64 { return int64(math.Round(s / StepTime)) }
