package procedure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/record/runlog"
	"govrig/sim"
	"govrig/sim/heli"
)

// stepTicks is the length of a plant step in board ticks: 250 µs at 16 MHz.
const stepTicks = 4_000

const (
	rpm     = 60 / (2 * math.Pi) // from rad/s
	degrees = 180 / math.Pi      // from rad
)

// test is a procedure under way.
type test struct {
	ctx     context.Context
	bench   *Bench
	session *rig.Session
	loop    *rig.Loop
	record  *runlog.Writer
	run     *Run
	sheet   *measure.Sheet
	health  rig.Health // of the phases played, but for those played again
	again   again

	done func(part Trace) bool // ends the phase under way early; nil never does
}

func newTest(ctx context.Context, b *Bench, session *rig.Session, r *Run, p plan) *test {
	declared := append(p.declared, healthMeasures...)
	if p.quiet {
		declared = append(p.declared, healthMeasures[pulseMeasures:]...)
	}
	return &test{
		ctx: ctx, bench: b, session: session, run: r,
		sheet: measure.NewSheet(p.name, virtual(&session.Identity), declared...),
	}
}

// use begins a loop around a plant made for steps of the given length, s.
func (t *test) use(plant func(step float64) sim.Plant) {
	hz := float64(t.session.Identity.TickHz)
	magnets := 1
	if t.bench.Machine != nil {
		magnets = t.bench.Machine.Governor.PulsesPerTurn
	}
	t.again.plant, t.again.lead = plant, nil
	t.loop = rig.NewLoop(rig.Setup{
		Plant: plant(stepTicks / hz), StepTicks: stepTicks, TickRate: hz, Magnets: magnets,
	}, rig.Script{})
}

// helicopter begins a loop around the simulated machine, idling.
func (t *test) helicopter() {
	p := t.bench.Machine.HeliParams()
	t.record.Event(runlog.EventPlant, runlog.Plant{Kind: "helicopter", Parameters: p})
	t.use(func(step float64) sim.Plant { return heli.New(p, step) })
}

// playOnce plays phases, well or not.
func (t *test) playOnce(phases ...rig.Phase) (p played, err error) {
	first := len(t.run.Trace.Phases)
	for _, phase := range phases {
		t.run.Trace.Phases = append(t.run.Trace.Phases, phase.Name)
	}
	t.record.Event(runlog.EventPhases, phases)
	offset := first - t.loop.Phases()
	t.record.Phases(offset)
	t.loop.Append(phases...)
	from := t.run.Trace.mark()
	at := t.loop.Phases() - len(phases)
	err = t.session.Run(t.ctx, t.loop, t.record, func(s *runlog.Sample) {
		t.run.Trace.add(s, s.Phase+offset, t.loop, float64(t.session.Identity.TickHz))
		if t.bench.Progress != nil {
			t.bench.Progress(t.run.Trace.Phases[s.Phase+offset], s)
		}
		if t.done != nil && t.done(t.run.Trace.from(from)) {
			t.loop.Cut()
		}
	})
	for n := at; n < t.loop.Phases(); n++ {
		h := t.loop.PhaseHealth(n)
		p.health.Add(h)
		if why := h.Void(); why != "" && p.void == "" {
			p.void, p.phase = why, n+offset
		}
	}
	p.part, p.settled = t.run.Trace.from(from), t.loop.Unsettled() == ""
	return p, err
}

// playUntil plays a phase, which ends early when done says so of what it has
// made so far.
func (t *test) playUntil(phase rig.Phase, done func(part Trace) bool) (Trace, error) {
	t.done = done
	defer func() { t.done = nil }()
	part, _, err := t.play(phase)
	return part, err
}

// configure sets the board up anew; a loop has to be begun after it.
func (t *test) configure(s rig.Settings) error {
	s.Baud = t.bench.Connection.Baud
	t.record.Event(runlog.EventSettings, s)
	return t.session.Configure(t.ctx, s)
}

// found notes what was found, for the end and for now.
func (t *test) found(format string, args ...any) {
	sentence := fmt.Sprintf(format, args...)
	t.run.Found = append(t.run.Found, sentence)
	if t.bench.Say != nil {
		t.bench.Say(sentence)
	}
}

// next notes what to do next, once.
func (t *test) next(format string, args ...any) {
	if sentence := fmt.Sprintf(format, args...); !slices.Contains(t.run.Next, sentence) {
		t.run.Next = append(t.run.Next, sentence)
	}
}

// ask puts a question to the person. Meanwhile a board in real time goes on
// with the given phase; one in lockstep stands still.
func (t *test) ask(q Question, meanwhile rig.Phase) (string, error) {
	meanwhile.Steps = steps(0.1)
	answer, err := t.await(q, meanwhile)
	if nobody := errors.Is(err, ErrNotAsked); nobody || err == nil {
		t.record.Event(runlog.EventAnswer, runlog.Answer{Key: q.Key, Answer: answer, Nobody: nobody})
	}
	return answer, err
}

func (t *test) await(q Question, meanwhile rig.Phase) (string, error) {
	switch {
	case t.bench.Recall != nil:
		return t.recall(q, meanwhile)
	case t.bench.Ask == nil:
		return q.orDefault("", ErrNotAsked)
	case t.bench.Clock == nil:
		return q.orDefault(t.bench.Ask(t.ctx, q))
	}
	type reply struct {
		text string
		err  error
	}
	answered := make(chan reply, 1)
	go func() {
		text, err := t.bench.Ask(t.ctx, q)
		answered <- reply{text, err}
	}()
	for {
		select {
		case r := <-answered:
			return q.orDefault(r.text, r.err)
		default:
		}
		if _, _, err := t.play(meanwhile); err != nil {
			return "", err
		}
	}
}

// recall goes on with the given phase until the recorded answer comes.
func (t *test) recall(q Question, meanwhile rig.Phase) (string, error) {
	for {
		if answer, ok, err := t.bench.Recall(q); ok || err != nil {
			return answer, err
		}
		if _, _, err := t.play(meanwhile); err != nil {
			return "", err
		}
	}
}

// orDefault gives the answer, or the default where nobody was asked.
func (q Question) orDefault(answer string, err error) (string, error) {
	if errors.Is(err, ErrNotAsked) && q.Default != "" {
		return q.Default, nil
	}
	return answer, err
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

// steps is a time in s as a number of plant steps, on a board of 16 MHz.
func steps(s float64) int64 { return int64(math.Round(s * 16e6 / stepTicks)) }
