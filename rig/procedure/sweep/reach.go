package sweep

import (
	"math"
	"math/cmplx"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/sim/machine"
)

const (
	slowTimes = 2.0 // times the amplitude of the quick sines, for the few slow ones
	aboveLead = 2.0 // s
	// Above the quick sines each is so much quicker than the one before, up to
	// highest, Hz, and to shares of the rates at which the governor answers and
	// at which pickup pulses tell it the speed: half of either is where a sway is
	// told from its alias no more (sampling theorem).
	quicker   = 1.25
	highest   = 40.0
	ofFrames  = 0.45
	ofPickup  = 0.4
	fewAbove  = 2    // periods
	aboveTrip = 0.16 // cycles between news and its answer, most: a wire that is later cannot play it
)

// reach adds to the lines of a point what its margins need: slow ones where the
// crossover or the integral lies below, quick ones where the phase does not come to
// −180°, and with sharp some more just where the loop crosses, as long as what they
// tell of the margins is not sure enough.
func (s *Sweep) reach(t *execution.Test, g *governed.Governor, p *SweepPoint, sharp bool) error {
	if p.tooSlow() {
		if _, err := s.more(t, g, p, governed.Slow, slowTimes*p.share); err != nil {
			return err
		}
	}
	if err := s.above(t, g, p); err != nil || !sharp {
		return err
	}
	return s.sharpen(t, g, p)
}

// more lets the speed sway once more and adds the lines; added is false where the
// throttle came to its ends.
func (s *Sweep) more(t *execution.Test, g *governed.Governor, p *SweepPoint, swaying governed.Swaying, share float64) (added bool, err error) {
	w, err := s.sway(t, g, p, swaying, share, 0)
	if err != nil || w.AtEnds || len(w.Points) == 0 {
		return false, err
	}
	p.Response = response.Join(p.Response, w.Points)
	return true, p.assemble(g)
}

// above plays quicker sines where the phase does not come to −180° at those that
// there are.
func (s *Sweep) above(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	from := quicker * p.Loop.Band.Max / (2 * math.Pi)
	lines := 1 + int(math.Ceil(math.Log(p.top/from)/math.Log(quicker)))
	if p.Margins.Gain.OK() || lines < 2 {
		return nil
	}
	swaying := governed.Swaying{Period: governed.Quick.Period, From: from, To: p.top, Lines: lines, Lead: aboveLead, Periods: fewAbove}
	_, err := s.more(t, g, p, swaying, p.share/2)
	return err
}

// reachOf is the quickest sway, Hz, that a governor answers as itself, and that the
// wire can play.
func reachOf(t *execution.Test, m *machine.Machine, w *governed.Swayed) float64 {
	pickup := w.Part.EngineSpeed(w.From, w.To).Mean() / 60 * float64(m.Governor.PulsesPerTurn)
	late := t.Health.LoopDelay()/float64(t.Session.Identity.TickHz) + 1/telemetryRate
	return min(highest, ofFrames*w.FrameRate, ofPickup*pickup, aboveTrip/late)
}

// telemetryRate is how many frames the board sends a second.
const telemetryRate = 500.0

const (
	// surePhase, degrees, and sureGain, dB, are how sure margins should be, half
	// the width of an interval of 95 %.
	surePhase, sureGain = 0.8, 0.25
	// ofSeveral is how much less sure they may be where several settings are swept,
	// which takes long: a factor.
	ofSeveral   = 1.7
	mostSharper = 2
	// slowSharp is the frequency, Hz, below which sines need the long period.
	slowSharp = 0.4
)

// beside are the sines about a crossing, as shares of its frequency.
var beside = []float64{0.87, 1, 1.15}

// sharpen plays sines just where the loop crosses, for as long as the margins are
// not sure enough.
func (s *Sweep) sharpen(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	for range mostSharper {
		var near []float64
		for _, f := range p.unsure(s.enough()) {
			for _, share := range beside {
				near = append(near, share*f)
			}
		}
		if len(near) == 0 {
			return nil
		}
		swaying := governed.Quick
		swaying.Near = near
		if near[0] < slowSharp {
			swaying.Period, swaying.Periods, swaying.Lead = governed.Slow.Period, governed.Slow.Periods, governed.Slow.Lead
		}
		if added, err := s.more(t, g, p, swaying, p.share); err != nil || !added {
			return err
		}
	}
	return nil
}

// enough is how sure margins should be, of surePhase and sureGain.
func (s *Sweep) enough() float64 {
	if s.several {
		return ofSeveral
	}
	return 1
}

// unsure are the frequencies, Hz, at which margins are read that are not sure
// enough, in order; enough is a factor of what is wanted.
func (p *SweepPoint) unsure(enough float64) (at []float64) {
	if p.Margins.Crossover.OK() && p.phaseDoubt > enough*surePhase {
		at = append(at, p.Margins.Crossover.Value/(2*math.Pi))
	}
	if f := p.Margins.PhaseCrossover.Value / (2 * math.Pi); p.Margins.Gain.OK() && p.gainDoubt > sureGain && f < p.top/beside[2] {
		at = append(at, f)
	}
	return at
}

// uncertain works out how sure the margins are: two standard deviations of what was
// measured, and what the rig itself may be off by.
func (p *SweepPoint) uncertain() error {
	phase, gain, err := loop.Uncertain(p.Loop.Loop, p.Loop.Band, p.Loop.Spread)
	p.phaseDoubt, p.gainDoubt = math.Hypot(2*phase, rigPhase), math.Hypot(2*gain, rigGain)
	return err
}

// rigPhase, degrees, and rigGain, dB, are what the rig may be off by where the
// scatter shows nothing: as the stand-ins of known response show.
const rigPhase, rigGain = 0.3, 0.05

// tooSlow reports whether what decides lies below the lines that were played: the
// crossover, or the corner of the integral.
func (p *SweepPoint) tooSlow() bool {
	below := !p.Margins.Crossover.OK() && cmplx.Abs(p.Loop.Loop(p.Loop.Band.Min)) < 1
	corner := p.Unfit == "" && (math.IsInf(p.Fit.Ti, 0) || p.Fit.TiError > knownTi*p.Fit.Ti)
	return below || corner
}

// knownTi is the standard error, a share, up to which an integral time is known.
const knownTi = 0.25
