package sweep

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/response"
)

const (
	wider     = 2.0 // times the first amplitude, for the second
	slowTimes = 2.0 // times the amplitude of the quick sines, for the few slow ones
)

// whole adds to a point what reports whether it holds at another amplitude too, and
// what lies below its lines, each where it is needed.
func (s *Sweep) whole(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	if len(s.Points) == 0 || s.bent {
		if err := s.second(t, g, p); err != nil {
			return err
		}
	}
	if !p.tooSlow() {
		return nil
	}
	w, err := s.sway(t, g, p, governed.Slow, slowTimes*s.Share, 0)
	if err != nil || w.AtEnds {
		return err
	}
	p.Response = append(p.Response, w.Points...)
	return p.assemble(g)
}

// second sways by another amplitude: wider, or where the first had to be small
// already, narrower.
func (s *Sweep) second(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	swaying := governed.Quick
	swaying.Periods = 2
	p.Sway = s.Share * math.Sqrt(float64(swaying.Lines)/2)
	first := p.Response
	w, err := s.sway(t, g, p, swaying, wider*s.Share, 0)
	switch {
	case err != nil:
		return err
	case !w.AtEnds:
		p.Amplitudes = response.Compare(first, w.Points)
		if p.Amplitudes.Kind == response.DeadBand {
			p.Response, p.Sway = w.Points, wider*p.Sway
		}
	default:
		if w, err = s.sway(t, g, p, swaying, s.Share/wider, settleTime); err != nil {
			return err
		}
		p.Amplitudes = response.Compare(w.Points, first)
	}
	s.bent = s.bent || p.Amplitudes.Kind != response.Linear
	return p.assemble(g)
}
