package procedure

import (
	"context"
	"math"

	"govrig/rig"
	"govrig/rig/measure/mounting"
	"govrig/rig/measure/train"
	"govrig/rig/record/runlog"
	"govrig/sim"
	"govrig/sim/machine"
	"govrig/sim/pickup"
	"govrig/sim/turntable"
)

// PickupBriefing is what is told before a Pickup is measured.
var PickupBriefing = Briefing{
	Purpose: "Finds out what the pickup on the engine gives while the shaft is turned, and whether it is mounted right.",
	Connect: []string{
		"the sensor's output through its circuit to the pickup probe (D7), grounds joined; nothing else;",
		"a sensor on its own has its supply from the board, one that stays in the governor from there",
	},
	Moves: []string{"the shaft, its fan and what they drive, as you turn it by hand, drill or electric starter"},
	Hurts: []string{
		"an engine that fires: plug out, fuel line off and carburettor empty, nothing that glows or sparks",
		"fan, drill and starter: keep fingers, sleeves, hair and the sensor's wires away from them",
		"rotor blades: take them off, a starter can bring the clutch in",
		"magnets that fly off: glued and secured, eyes covered; keep them from children and pacemakers",
	},
}

// PickupOptions are those of Pickup.Measure.
type PickupOptions struct {
	// Time is how long to watch at most, s; 0 is 30.
	Time float64
	// Watch goes on to the end of that time, even when all is clear before.
	Watch bool
	// Turning is the speed at which the shaft is turned, rad/s, to a fifth or
	// so; 0 asks.
	Turning float64
	// Coil has the circuit for a coil on the probe: its line swings about a bias,
	// and has no levels to be judged.
	Coil bool `json:",omitempty"`
}

// Pickup is what was seen of a pickup on its engine.
type Pickup struct {
	// Turning is what each turn gave, at the end.
	Turning train.Turning
	// Verdict is what is to be made of it.
	Verdict PickupVerdict

	judge judge // kept for the next time
}

// Measure listens at the pickup probe while the person turns the shaft.
func (c *Pickup) Measure(ctx context.Context, b *Bench, o PickupOptions) (*Run, error) {
	if o.Time == 0 {
		o.Time = 30
	}
	p := &probing{pickup: c, judge: &c.judge, o: o, low: b.Machine.Pickup.Active == machine.Low}
	if err := p.judge.prepare(b.Machine); err != nil {
		return nil, err
	}
	settings := p.settings()
	return b.run(ctx, plan{
		name: "pickup", subject: "pickup", options: o, settings: &settings, quiet: true,
		declared: pickupMeasures(b.Machine, p.judge),
		body: func(t *test) error {
			p.test = t
			return p.body()
		},
	})
}

// probing is a pickup being watched.
type probing struct {
	*test
	pickup *Pickup
	o      PickupOptions
	judge  *judge

	low     bool // low pulses are timed
	flipped bool
	byHand  bool
	counted int  // pulses a turn, as the person's turns told; 0 while unknown
	turned  bool // it is known that the shaft did turn

	pulses   []Pulse // of the watch, since the levels are known
	all      []Pulse // of everything
	level    bool    // of the line, at the end
	nextLook float64 // when to look again, s
	steady   int     // looks in a row with the same verdict
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
	p.conclude()
	return nil
}

func (p *probing) settings() rig.Settings { return rig.Settings{Probe: true, CaptureLow: p.low} }

// begin begins a loop that plays nothing.
func (p *probing) begin() {
	p.record.Event(runlog.EventPlant, runlog.Plant{Kind: "turntable"})
	p.use(func(step float64) sim.Plant { return turntable.New(step) })
}

// silent is a phase that plays nothing.
func silent(name string, time float64) rig.Phase {
	return rig.Phase{Name: name, Mute: true, Steps: steps(time)}
}

// flip times the pulses of the other level from now on.
func (p *probing) flip() error {
	p.low, p.flipped, p.pulses = !p.low, true, nil
	if err := p.configure(p.settings()); err != nil {
		return err
	}
	p.begin()
	return nil
}

// pulseRate is the pulses a second from the first to the last.
func pulseRate(pulses []Pulse) float64 {
	last := len(pulses) - 1
	if last < 1 {
		return 0
	}
	return float64(last) / (pulses[last].Start - pulses[0].Start)
}

// perTurn is the number of pulses in a turn: as counted, as the speed tells, or,
// while neither is known, as the machine file lets expect or the pattern tells.
// exact is how many it would be without rounding.
func (p *probing) perTurn(pulses []Pulse) (n int, exact float64) {
	switch {
	case p.counted > 0:
		return p.counted, float64(p.counted)
	case p.o.Turning > 0:
		exact = pulseRate(newestSecond(pulses)) / (p.o.Turning / (2 * math.Pi))
		return max(1, int(math.Round(exact))), exact
	}
	n = p.judge.is.PulsesPerRev
	if _, ok := train.Turn(pulses, max(1, n)); n == 0 || !ok && len(pulses) > 4*n {
		n = train.PerTurn(pulses, mostPerTurn)
	}
	return n, float64(n)
}

// newestSecond are the pulses of the newest second, or the newest few.
func newestSecond(pulses []Pulse) []Pulse {
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
