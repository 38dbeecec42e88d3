package gallery

import (
	"errors"
	"fmt"
	"math"

	"govrig/sim/heli"
	"govrig/sim/machine"
)

// Specimen is a machine drawn by lot with a governor that was drawn for it.
type Specimen struct {
	Seed    uint64
	Machine *machine.Machine
	Member  Member
	Wiring  Wiring
	// Margins are the least of its loop over the settings and both ends of the
	// load step, by the linearised plant; none for a governor without a response.
	Margins Margins
	points  []heli.Linear // settings times light and heavy load, in order
}

// New is its governor, switched on at tick start.
func (s *Specimen) New(start int64) *Governor { return s.Member.New(s.Wiring, start) }

// The margins that a healthy specimen keeps everywhere.
const (
	LeastPhase = 45.0 // degrees
	LeastGain  = 8.0  // dB
)

const attempts = 200

// errNone is a seed of which nothing came.
var errNone = errors.New("no machine and governor in 200 attempts")

// NewHealthy draws a machine with a governor that is healthy for it. Edges are
// stamped in ticks of the given rate, 1/s.
func NewHealthy(seed uint64, tickRate float64) (*Specimen, error) {
	for attempt := range uint64(attempts) {
		d := draw(seed*attempts + attempt)
		s, err := drawMachine(d, seed, tickRate)
		if err != nil {
			continue
		}
		if s.fit(d) {
			return s, nil
		}
	}
	return nil, fmt.Errorf("%w: seed %d", errNone, seed)
}

// drawMachine draws a machine that can hold its settings under its loads, with
// some throttle to spare.
func drawMachine(d drawing, seed uint64, tickRate float64) (*Specimen, error) {
	m, err := machine.Parse(fmt.Sprintf("drawn-%d.yaml", seed), []byte(machineText(d, seed)))
	if err != nil {
		return nil, err
	}
	s := &Specimen{Seed: seed, Machine: m, Wiring: WiringOf(m, tickRate)}
	plant := heli.New(m.HeliParams(), 250e-6)
	for _, setting := range m.Speeds {
		for _, pitch := range []float64{float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)} {
			l, err := plant.Linearise(float64(setting.HeadSpeed), pitch)
			if err != nil {
				return nil, err
			}
			if share := s.Wiring.share(l.ThrottlePulse); share < 0.15 || share > 0.8 || real(l.Poles[0]) >= 0 {
				return nil, errNone
			}
			s.points = append(s.points, l)
		}
	}
	return s, nil
}

// structure is a governor drawn by lot, all but its gain.
type structure struct {
	loop, frame, ti, td, tf, step, on, loss float64
	filter, law, turns                      int
}

// names of the structures' parts, for tables.
var (
	filterNames = []string{"average", "lag", "median"}
	lawNames    = []string{"pi", "incremental", "pid", "feed-forward", "scheduled", "rate-limited"}
)

func drawStructure(d drawing) structure {
	return structure{
		loop: oneOf(d, 0, 2.03e-3, 3.9e-3, 9.7e-3), frame: oneOf(d, 40.0, 50, 60, 71, 83, 100, 150, 200),
		ti: d.between(0.5, 1.6), td: d.between(0.03, 0.08), tf: d.between(0.01, 0.02),
		step: oneOf(d, 0.25e-6, 0.5e-6, 1e-6, 2e-6), on: d.between(0.2, 0.5), loss: d.between(0.1, 0.3),
		filter: d.IntN(len(filterNames)), law: d.IntN(len(lawNames)), turns: 1 + d.IntN(3),
	}
}

func (x structure) String() string {
	return fmt.Sprintf("%s over %s, loop %.3g ms, %g frames a second, Ti %.2f s", lawNames[x.law], filterNames[x.filter], 1e3*x.loop, x.frame, x.ti)
}

// parts are those of the structure with a gain, share per rad/s.
func (x structure) parts(w Wiring, k float64) parts {
	p := usual(w)
	p.loop, p.frame, p.step, p.on, p.off, p.loss = x.loop, x.frame, x.step, x.on, x.on-0.04, x.loss
	switch x.filter {
	case 0:
		p.filter = &average{n: x.turns * w.PulsesPerTurn}
	case 1:
		p.filter = &lag{constant: 5e-3 * float64(x.turns), tickRate: w.TickRate}
	case 2:
		p.filter = &median{}
	}
	h := p.period()
	switch x.law {
	case 0:
		p.law = &pi{k: k, ti: x.ti, h: h}
	case 1:
		p.law = &incremental{k: k, ti: x.ti, h: h}
	case 2:
		p.law = &pid{k: k, ti: x.ti, td: x.td, tf: x.tf, h: h}
	case 3:
		p.law = &feedForward{k: k, ti: x.ti, h: h, c: 0.6, bound: 1}
	case 4:
		p.law = &scheduled{k: k, ti: x.ti, h: h, a: 0.6}
	case 5:
		p.law = &conditional{pi: pi{k: k, ti: x.ti, h: h}, rate: 3}
	}
	return p
}

// fit draws a governor and gives it the highest gain that keeps the margins
// that it is to keep. It reports whether there is one.
func (s *Specimen) fit(d drawing) bool {
	x := drawStructure(d)
	phase, gain := d.between(LeastPhase, 60), d.between(LeastGain+1, 14)
	const unit = 1e-3 // of gain; every law's response is in proportion to it
	loops := s.loops(x.parts(s.Wiring, unit))
	for k := 0.05; k > 1e-6; k /= 1.05 {
		m := endless
		for i := range loops {
			m = m.least(loops[i].margins(k / unit))
		}
		if m.Phase >= phase && m.Gain >= gain {
			s.Margins = m
			s.Member = Member{
				Name: fmt.Sprintf("drawn %d", s.Seed), About: x.String(), Kind: Healthy,
				build: func(w Wiring) parts { return x.parts(w, k) },
			}
			return m.Crossover > 1 && !math.IsInf(m.Phase, 0)
		}
	}
	return false
}

// loops are those at all points.
func (s *Specimen) loops(p parts) (loops []sampled) {
	g := newGovernor(s.Wiring, p, 0)
	for i := range s.points {
		l, _ := g.loop(&s.points[i])
		loops = append(loops, l)
	}
	return loops
}
