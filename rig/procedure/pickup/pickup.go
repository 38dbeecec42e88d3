package pickup

import (
	"context"
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure/mounting"
	"govrig/rig/measure/train"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/machine"
	"govrig/sim/pickup"
	"govrig/sim/turntable"
)

// Pickup is what was seen of a pickup on its engine.
type Pickup struct {
	// Turning is what each turn gave, at the end.
	Turning train.Turning
	// Verdict is what is to be made of it.
	Verdict PickupVerdict

	judge judge // kept for the next time
}

// Measure listens at the pickup probe while the person turns the shaft.
func (c *Pickup) Measure(ctx context.Context, b *execution.Bench, o *Options) (*execution.Run, error) {
	p := &probing{pickup: c, judge: &c.judge, o: *o, low: b.Machine.Pickup.Active == machine.Low}
	if err := p.judge.prepare(b.Machine); err != nil {
		return nil, err
	}
	settings := p.settings()
	return b.Run(ctx, execution.Plan{
		Name: Procedure.Name, Reads: Procedure.Reads, Subject: "pickup", Options: o, Settings: &settings, Quiet: true,
		Declared: pickupMeasures(b.Machine, p.judge),
		Body: func(t *execution.Test) error {
			p.Test = t
			return p.body()
		},
	})
}

// probing is a pickup being watched.
type probing struct {
	*execution.Test
	pickup *Pickup
	o      Options
	judge  *judge

	low     bool // low pulses are timed
	flipped bool
	byHand  bool
	counted int  // pulses a turn, as the person's turns told; 0 while unknown
	turned  bool // it is known that the shaft did turn
	// gapUntold is that the width goes with two gaps, and nobody said which it is.
	gapUntold bool

	pulses   []execution.Pulse // of the watch, since the levels are known
	all      []execution.Pulse // of everything
	level    bool              // of the line, at the end
	nextLook float64           // when to look again, s
	steady   int               // looks in a row with the same verdict
	verdict  PickupVerdict
	quiet    int // looks without pulses
}

func (p *probing) body() error {
	p.begin()
	if err := p.askTurning(); err != nil {
		return err
	}
	if err := p.watch(); err != nil {
		return err
	}
	if p.byHand {
		if err := p.count(); err != nil {
			return err
		}
	}
	return p.conclude()
}

func (p *probing) settings() rig.Settings { return rig.Settings{Probe: true, CaptureLow: p.low} }

// begin begins a loop that plays nothing.
func (p *probing) begin() {
	p.Record.Event(runlog.EventPlant, runlog.Plant{Kind: "turntable"})
	p.Use(func(step float64) sim.Plant { return turntable.New(step) })
}

// silent is a phase that plays nothing.
func silent(kind phase.Kind, time float64) rig.Phase {
	return rig.Phase{Key: phase.Of(kind), Mute: true, Steps: execution.Steps(time)}
}

// flip times the pulses of the other level from now on.
func (p *probing) flip() error {
	p.low, p.flipped, p.pulses = !p.low, true, nil
	if err := p.Configure(p.settings()); err != nil {
		return err
	}
	p.begin()
	return nil
}

// pulseRate is the pulses a second from the first to the last.
func pulseRate(pulses []execution.Pulse) float64 {
	last := len(pulses) - 1
	if last < 1 {
		return 0
	}
	return float64(last) / (pulses[last].Start - pulses[0].Start)
}

// perTurn is the number of pulses in a turn: as counted, as the speed tells, or,
// while neither is known, as the machine file lets expect or the pattern tells.
// exact is how many it would be without rounding.
func (p *probing) perTurn(pulses []execution.Pulse) (n int, exact float64) {
	switch {
	case p.counted > 0:
		return p.counted, float64(p.counted)
	case p.o.Turning > 0:
		exact = pulseRate(newestSecond(pulses)) / (float64(p.o.Turning) / (2 * math.Pi))
		return max(1, int(math.Round(exact))), exact
	}
	n = p.judge.is.PulsesPerRev
	if _, ok := train.Turn(pulses, max(1, n)); n == 0 || !ok && len(pulses) > 4*n {
		n = train.PerTurn(pulses, mostPerTurn)
	}
	return n, float64(n)
}

// newestSecond are the pulses of the newest second, or the newest few.
func newestSecond(pulses []execution.Pulse) []execution.Pulse {
	from := max(0, len(pulses)-5)
	for from > 0 && pulses[len(pulses)-1].Start-pulses[from-1].Start < 1 {
		from--
	}
	return pulses[from:]
}

// mostPerTurn is the most pulses that a pattern is looked for in: two lobes of
// a dozen magnets.
const mostPerTurn = 24

// judge knows what the machine file lets expect of a pickup.
type judge struct {
	file     pickup.Params
	is       pickup.Prediction // of the file
	book     *mounting.Book
	governor int // pulses a turn that it is set to
	parts    int // alike, in a turn
	// low and high are the least and the greatest mean width, % of the turn,
	// that the file's pickup gives at about the file's gap, give or take what a
	// reading may be off; both are 0 when it gives no pulses.
	low, high float64
}

// prepare works out what to expect of a machine, unless that is known.
func (j *judge) prepare(m *machine.Machine) (err error) {
	j.governor = m.Governor.PulsesPerTurn
	if j.book != nil && j.file == m.PickupParams() {
		return nil
	}
	j.file = m.PickupParams()
	j.parts = j.file.Count
	if j.file.Pattern == pickup.Alternating {
		j.parts /= 2
	}
	if j.is, err = pickup.Predict(j.file); err != nil {
		return err
	}
	j.expectWidths()
	j.book, err = mounting.New(j.file)
	return err
}

const (
	nearFile     = 1.25 // times the file's gap, either way, are still that gap
	widthReading = 0.03 // that a width may be read wrong, as a share
)

func (j *judge) expectWidths() {
	j.low, j.high = math.Inf(1), 0
	for share := -1.0; share <= 1; share += 0.25 {
		p := j.file
		p.Gap *= math.Pow(nearFile, share)
		is, err := pickup.Predict(p)
		if err == nil && is.PulsesPerRev == j.is.PulsesPerRev && is.PulsesPerRev > 0 {
			j.low, j.high = math.Min(j.low, 100*is.Width), math.Max(j.high, 100*is.Width)
		}
	}
	if j.high == 0 {
		j.low = 0
	}
	j.low, j.high = j.low*(1-widthReading), j.high*(1+widthReading)
}
