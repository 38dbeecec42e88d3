package sweep

import (
	"context"
	"errors"
	"fmt"
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

// How far each sine of the sway goes, shares of the engine's speed: at first, at the
// least, and by what it is changed from try to try.
const (
	sweepShare = 0.0025
	sweepLeast = 0.0002
	sweepTimes = 3.0  // a factor
	settleTime = 6.0  // s, before a sway
	watchTime  = 10.0 // s, to see whether it hunts
)

// Sweep is a governor's frequency response, the margins of its loop, and what
// follows for its gain.
type Sweep struct {
	Points []SweepPoint
	Advice loop.Advice
	Share  float64 // of the engine's speed that each line now has

	several  bool             // settings
	tries    int              // of the excitation
	compared bool             // at two amplitudes
	bent     bool             // the response depends on the amplitude
	dead     float64          // half of a dead band that was seen, a share of the speed; no point is measured after it
	missed   string           // a point at which nothing could be measured
	swings   []governed.Swing // where it hunts
}

// Measure lets the played speed sway by many sines at once, at the light and at
// the heavy end of the machine's load step, and reads the governor's frequency
// response and the stability margins of its loop with the simulated machine.
func (s *Sweep) Measure(ctx context.Context, b *execution.Bench, o *Options) (*execution.Run, error) {
	settings, err := o.Settings(b.Machine)
	if err != nil {
		return nil, err
	}
	declared := o.measures(b.Machine, settings)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: settings[0], Declared: declared, Body: func(t *execution.Test) error {
		g := governed.New(b.Machine, settings[0])
		if ok, err := g.SpoolUp(t, declared); !ok {
			return err
		}
		if err := s.settings(t, g, settings); err != nil {
			return err
		}
		if err := s.advise(t); err != nil {
			return err
		}
		if len(s.swings) > 0 {
			return g.TellCauses(t, s.swings...)
		}
		return nil
	}})
}

// settings measures one setting after the other, as long as they are held.
func (s *Sweep) settings(t *execution.Test, g *governed.Governor, settings []machine.SpeedSetting) error {
	several := len(settings) > 1
	s.several = several
	for i, setting := range settings {
		if g.To(setting, several); i > 0 {
			light := g.Load(phase.Of(phase.LightAgain), float64(g.Machine.LoadStep.CollectiveLow), 1, 2)
			if _, _, err := t.Play(light); err != nil {
				return err
			}
		}
		_, part, held, err := g.Seek(t)
		if err != nil {
			return err
		}
		if !held {
			for _, later := range settings[i+1:] {
				governed.NotRun(t, ofSetting(g.Machine, later, several), fmt.Sprintf("the governor did not hold %q before it", setting.Name))
			}
			return g.NotHeld(t, &part, ofSetting(g.Machine, setting, several))
		}
		for _, p := range pointsOf(g.Machine, setting, several) {
			if err := s.at(t, g, p); err != nil {
				return err
			}
		}
	}
	return nil
}

// SweepPoints lists what is to be measured: each setting, light and heavy.
func SweepPoints(m *machine.Machine, settings []machine.SpeedSetting) (points []SweepPoint) {
	for _, setting := range settings {
		points = append(points, pointsOf(m, setting, len(settings) > 1)...)
	}
	return points
}

func pointsOf(m *machine.Machine, setting machine.SpeedSetting, several bool) []SweepPoint {
	prefix := ""
	if several {
		prefix = setting.Name + "_"
	}
	return []SweepPoint{
		{Name: prefix + "light", Setting: setting, Load: measure.Light, Collective: float64(m.LoadStep.CollectiveLow)},
		{Name: prefix + "heavy", Setting: setting, Load: measure.Heavy, Collective: float64(m.LoadStep.CollectiveHigh)},
	}
}

func ofSetting(m *machine.Machine, setting machine.SpeedSetting, several bool) (declared []measure.Declaration) {
	for _, p := range pointsOf(m, setting, several) {
		declared = append(declared, p.measures()...)
	}
	return declared
}

// at measures one point, whole, and puts it on the sheet.
func (s *Sweep) at(t *execution.Test, g *governed.Governor, p SweepPoint) error {
	err := s.Point(t, g, &p, true)
	var unswept *UnsweptError
	if errors.As(err, &unswept) {
		governed.NotRun(t, p.measures(), unswept.Why)
		s.missed = p.words()
		return s.whyUnswept(t, g, &p)
	}
	if err == nil {
		s.Points = append(s.Points, p)
		t.Run.Loops = keptLoops(s.Points)
		p.take(t.Sheet)
		s.tell(t, &p)
	}
	return err
}

// UnsweptError is a point that cannot be measured.
type UnsweptError struct{ Why string }

func (e *UnsweptError) Error() string { return "no frequency response: " + e.Why }

// quick lets one point sway as usual. A sway that drives the throttle to its ends
// shows less gain than there is; it is made smaller and played again. One that
// drowns in the scatter is made wider, once.
func (s *Sweep) quick(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	if s.Share == 0 {
		s.Share = sweepShare
	}
	for widened := false; s.Share >= sweepLeast; {
		w, err := s.sway(t, g, p, governed.Quick, s.Share, settleTime)
		switch {
		case err != nil:
			return err
		case w.AtEnds:
			s.Share /= sweepTimes
		case len(w.Points) < fewest && !widened:
			s.Share, widened = s.Share*sweepTimes, true
		default:
			p.share = s.Share
			return p.read(t, g, w)
		}
	}
	return &UnsweptError{"the throttle runs to its ends at the slightest excitation"}
}

// sway lets the speed sway at one point, after a time to settle.
func (s *Sweep) sway(t *execution.Test, g *governed.Governor, p *SweepPoint, swaying governed.Swaying, share, settle float64) (w governed.Swayed, err error) {
	s.tries++
	if settle > 0 {
		before := g.Load(phase.Key{Kind: phase.Settling, Of: p.Name, Number: s.tries}, p.Collective, 1, settle)
		if _, _, err := t.Play(before); err != nil {
			return w, err
		}
	}
	before := t.Health
	w, err = g.Sway(t, phase.Key{Kind: "sway", Of: p.Name, Number: s.tries}, swaying, share)
	p.spread = math.Max(p.spread, delaySpread(t, before))
	return w, err
}

// whyUnswept finds out whether it is for hunting, or for an engine too weak, that
// the throttle is at its ends.
func (s *Sweep) whyUnswept(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	s.tries++
	key := phase.Key{Kind: "watch", Of: p.Name, Number: s.tries}
	part, _, err := t.Play(g.Load(key, p.Collective, 1, watchTime))
	if err != nil {
		return err
	}
	from, to := part.Span(key)
	swing := g.Hunts(&part, from, to, p.Collective)
	switch {
	case swing.Hunting():
		g.TellHunting(t, swing)
		s.swings = append(s.swings, swing)
	case g.TellWeak(t, &part, from, to, p.Collective):
	default:
		t.Found("%s: nothing could be measured.", p.words())
		t.Next("Look at what hold says of this setting, and sweep again with another gain.")
	}
	return nil
}
