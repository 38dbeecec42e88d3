package sweep

import (
	"math"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/pulse"
	"govrig/rig/measure/response"
)

const (
	wider     = 2.0 // times the amplitude before
	mostWider = 2   // times
	// nearlyAll is by what a dead band may still have to be allowed for, a factor,
	// where the sway need not be wider.
	nearlyAll = 1.25
)

// Point measures a point whole: its response, at another amplitude too where that is
// not known to be the same, and what its margins need, with sharp as sure as can be.
func (s *Sweep) Point(t *execution.Test, g *governed.Governor, p *SweepPoint, sharp bool) error {
	if p.DeadBand = s.dead; s.dead > 0 {
		return nil // there are no margins to be had
	}
	if err := s.quick(t, g, p); err != nil {
		return err
	}
	if !s.compared || s.bent {
		if err := s.second(t, g, p); err != nil {
			return err
		}
		s.compared = true
	}
	if s.dead > 0 {
		return nil
	}
	return s.reach(t, g, p, sharp)
}

// second sways by another amplitude: narrower, and where that is not the same, wider,
// for as long as a dead band takes its share or nothing can be told. Wider is not for
// every governor: at its ends, the throttle may have the engine lose its rotor, and
// swing for long.
func (s *Sweep) second(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	w, err := s.sway(t, g, p, twice(), p.share/wider, 0)
	if err != nil {
		return err
	}
	p.Amplitudes = response.Compare(w.Points, p.Response)
	p.half, p.coarse = p.Amplitudes.Half*w.RMS, coarse(t, p.Response, p.Amplitudes.Ratio)
	for n := range mostWider {
		same := p.Amplitudes.Kind == response.Linear
		if same || n > 0 && !p.widerTells() || !p.swayed.Room(wider) {
			break
		}
		w, err := s.sway(t, g, p, twice(), wider*p.share, 0)
		if err != nil {
			return err
		}
		if w.AtEnds || len(w.Points) < fewest {
			break
		}
		s.widen(t, p, &w)
	}
	return s.told(t, g, p)
}

const (
	narrow = 0.25 // of the usual amplitude
	// deaf is how much of a narrow sway a dead band lets through at most, of the gain
	// beyond it: half, where the speed rests at the band's edge.
	deaf = 0.5
)

// listen sways so little that a dead band lets little or nothing through. A law whose
// gain only grows with the error still answers: then it is none.
func (s *Sweep) listen(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	w, err := s.sway(t, g, p, governed.Quick, narrow*s.Share, settleTime)
	if err != nil {
		return err
	}
	gain := func(p response.Point) float64 { // less the scatter's own share of it
		return p.Gain() * math.Sqrt(math.Max(0, 1-2*p.GainError*p.GainError))
	}
	whole := response.Median(p.Response, response.Point.Gain)
	if p.Amplitudes.Beyond.OK() {
		whole *= p.Amplitudes.Beyond.Value
	}
	if response.Median(w.Every, gain) > deaf*whole {
		p.Amplitudes.Kind = response.Dependent
	}
	return nil
}

// widerTells reports whether a still wider sway would tell more.
func (p *SweepPoint) widerTells() bool {
	a := p.Amplitudes
	switch a.Kind {
	case response.DeadBand:
		return !a.Beyond.OK() || a.Beyond.Value > nearlyAll
	case response.Dependent:
		return p.coarse
	}
	return a.Kind == response.Untold
}

// twice is the usual sway, half as long.
func twice() governed.Swaying {
	swaying := governed.Quick
	swaying.Periods = 2
	return swaying
}

// widen takes in a wider sway. What it shows of a dead band is the better the wider
// it is; one that was seen in a wide sway is there, unless it was the output's steps.
func (s *Sweep) widen(t *execution.Test, p *SweepPoint, w *governed.Swayed) {
	before, steps := p.Amplitudes, p.coarse
	p.Amplitudes = response.Compare(p.Response, w.Points)
	p.coarse = coarse(t, w.Points, p.Amplitudes.Ratio)
	switch {
	case p.Amplitudes.Kind == response.DeadBand:
		p.half = p.Amplitudes.Half * p.Sway
	case before.Kind == response.DeadBand && !steps && p.share > s.Share:
		before.Beyond.Value = math.Max(1, before.Beyond.Value/math.Pow(10, p.Amplitudes.Change/20))
		p.Amplitudes = before
	case p.Amplitudes.Kind == response.Linear, p.Amplitudes.Kind == response.Dependent && !p.coarse:
		return
	}
	p.Response, p.share, p.Sway, p.swayed = w.Points, wider*p.share, w.RMS, *w
}

// told concludes from the amplitudes. What the steps of the output take of a small
// sway is no dead band. Where the amplitudes tell too little, a dead band is one that
// was seen when it was asked whether it governs.
func (s *Sweep) told(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	if p.Amplitudes.Kind == response.DeadBand && !p.coarse {
		if err := s.listen(t, g, p); err != nil {
			return err
		}
	}
	s.bent = s.bent || p.Amplitudes.Kind != response.Linear
	switch {
	case p.Amplitudes.Kind == response.DeadBand && p.coarse:
		p.Amplitudes.Kind = response.Dependent
	case p.Amplitudes.Kind == response.DeadBand:
		s.dead = math.Max(p.half/g.Declared(), g.DeadBand)
	case p.Amplitudes.Kind == response.Untold:
		s.dead = g.DeadBand
	}
	p.DeadBand = s.dead
	return p.assemble(g)
}

// enoughSteps is the sway of the throttle, root mean square, in steps of the output,
// from which on the steps take no share of it that is worth the name: of Gaussian
// noise a quantiser passes 1 + 2·Σ(−1)ⁿ·e^{−2π²n²σ²/q²} (Gelb & Vander Velde, from
// memory), which differs from 1 by 1.5 % at most.
const enoughSteps = 0.5

// coarse reports whether the steps of the output take their share of a sway so many
// times as narrow as one of the given lines.
func coarse(t *execution.Test, wide []response.Point, ratio float64) bool {
	var widths []float64
	for _, w := range t.Run.Trace.Pulses {
		widths = append(widths, w.Width)
	}
	steps := pulse.StepsOf(widths, 1./protocol.TickHz)
	square := 0.0
	for _, line := range wide {
		narrow := line.Gain() * line.Input / math.Max(1, ratio)
		square += narrow * narrow / 2
	}
	return steps.Kind == pulse.Staircase && math.Sqrt(square) < enoughSteps*1e6*steps.Step
}
