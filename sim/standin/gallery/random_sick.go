package gallery

import (
	"fmt"
	"math"
)

// sickening makes a healthy specimen's parts sick; it reports whether it can.
type sickening func(s *Specimen, d drawing, p *parts) bool

// sickenings are those of every kind that random governors are drawn of.
var sickenings = map[Kind]sickening{
	SlowIntegral: func(_ *Specimen, d drawing, p *parts) bool {
		p.law.scale(0.7) // calm while the clutch slips, too, where no integral brings it out
		return setIntegral(p.law, d.between(3, 10))
	},
	Hunts:    hunting,
	DeadBand: deadBanded,
	OpensOnLoss: func(_ *Specimen, _ drawing, p *parts) bool {
		p.trust, p.onLoss = &plain{}, Opens
		return true
	},
	HoldsOnLoss:  func(_ *Specimen, _ drawing, p *parts) bool { p.onLoss = Holds; return true },
	ClosesSlowly: func(_ *Specimen, d drawing, p *parts) bool { p.loss, p.fall = 0.4, d.between(5, 8); return true },
	HoldsThenOpens: func(_ *Specimen, d drawing, p *parts) bool {
		p.onLoss, p.patience = Holds, d.between(1.5, 8)
		return true
	},
	OpensOnStickLoss: func(_ *Specimen, _ drawing, p *parts) bool { p.onStickLoss = Opens; return true },
	TwoThrottles: func(s *Specimen, d drawing, p *parts) bool {
		p.law = &relay{low: d.between(0.02, 0.12), high: d.between(0.85, 1), half: d.between(0.003, 0.008) * s.wanted()}
		return true
	},
	ShortTravel:  func(_ *Specimen, d drawing, p *parts) bool { p.most = d.between(0.82, 0.9); return true },
	HoldsStick:   func(_ *Specimen, _ drawing, p *parts) bool { p.stickLoss = 0; return true },
	CountsDouble: countingDouble,
	CountsHalf:   func(_ *Specimen, _ drawing, p *parts) bool { p.counts = 2; return true },
	OtherPolarity: func(_ *Specimen, _ drawing, p *parts) bool {
		p.gate = &inverted{}
		return true
	},
	WideOnly: func(s *Specimen, d drawing, p *parts) bool {
		p.gate = &wide{least: int64(d.between(650e-6, 1e-3) * s.Wiring.TickRate)}
		return true
	},
	NotGoverning: func(_ *Specimen, _ drawing, p *parts) bool { p.law = nil; return true },
	Droops:       drooping,
	Jitters: func(_ *Specimen, d drawing, p *parts) bool {
		p.jitter, p.drop, p.seed = d.between(0.1, 0.2)/p.frame, d.between(0.05, 0.12), d.Uint64()
		return true
	},
	ThreeSpeeds: func(_ *Specimen, d drawing, p *parts) bool {
		p.settings, p.kind = 3+d.IntN(3), InSteps
		p.law.scale(0.4) // calm at its slowest, too
		p.setting = inSteps(p.settings)
		return true
	},
	SelectDead: func(_ *Specimen, d drawing, p *parts) bool {
		p.setting, p.kind, p.settings = fixed(d.between(0.2, 0.8)), NoSelect, 1
		p.law.scale(0.5)
		return true
	},
	ArmsHigh: func(s *Specimen, d drawing, p *parts) bool {
		p.on = d.between(0.65, 0.85)
		p.off, p.least = p.on-0.04, d.between(0.75, 0.9)*s.Wiring.SpeedLow
		return true
	},
	LocksHalf: func(_ *Specimen, _ drawing, p *parts) bool { p.trust = &locking{}; return true },
	StaysOpen: func(_ *Specimen, _ drawing, p *parts) bool { p.trust = &blanking{}; return true },
	WindsUp: func(s *Specimen, d drawing, p *parts) bool {
		k, ti, _ := p.law.(linearLaw).terms(1)
		p.law = &pi{k: k, ti: ti * d.between(0.5, 0.8), h: p.period(), unbounded: true}
		return true
	},
	SlowSpool: func(s *Specimen, d drawing, p *parts) bool {
		p.spool = s.wanted() / d.between(42, 55) // from idling, at a quarter of it
		p.law.scale(0.5)                         // calm while the clutch slips, too, for so long
		return true
	},
}

// wanted is the engine speed of the first setting, rad/s.
func (s *Specimen) wanted() float64 { return s.points[0].EngineSpeed }

// setIntegral gives a law another integral time.
func setIntegral(l law, ti float64) bool {
	switch l := l.(type) {
	case *pi:
		l.ti = ti
	case *conditional:
		l.ti = ti
	case *incremental:
		l.ti = ti
	case *pid:
		l.ti = ti
	case *feedForward:
		l.ti = ti
	case *scheduled:
		l.ti = ti
	}
	return true
}

// hunting raises the gain until no point of the loop is stable: the greatest
// gain margin of all is below −3 dB.
func hunting(s *Specimen, d drawing, p *parts) bool {
	most := math.Inf(-1)
	for _, loop := range s.loops(*p) {
		most = max(most, loop.margins(1).Gain)
	}
	p.law.scale(math.Pow(10, (most+d.between(4, 8))/20))
	return !math.IsInf(most, 0)
}

// deadBanded has a band of 1.5 to 3 % of the speed, and moves its output by
// 16 to 25 µs. Its gain is half of what another law bore, so that it is calm beyond.
func deadBanded(s *Specimen, d drawing, p *parts) bool {
	k, ti, _ := p.law.(linearLaw).terms(0.5)
	p.step = d.between(16e-6, 25e-6)
	p.law = &deadBand{pi: pi{k: 0.5 * k, ti: ti, h: p.period()}, half: d.between(0.0075, 0.015) * s.wanted()}
	return true
}

// countingDouble counts both edges, over twice as many intervals, which are
// even only in pairs.
func countingDouble(s *Specimen, _ drawing, p *parts) bool {
	p.gate, p.trust, p.filter = &both{}, &plain{}, &average{n: 4 * s.Wiring.PulsesPerTurn}
	p.law.scale(0.2) // reads twice the speed, and a slow engine answers more
	return true
}

// drooping has a law whose speed sags by 3 to 6 % of the wanted one under the
// load step of the first setting, and that is calm.
func drooping(s *Specimen, d drawing, p *parts) bool {
	light, heavy := s.Wiring.share(s.points[0].ThrottlePulse), s.Wiring.share(s.points[1].ThrottlePulse)
	sag := d.between(0.03, 0.06) * s.wanted()
	p.law = &droop{k: (heavy - light) / sag, rest: light}
	m := endless
	for _, loop := range s.loops(*p) {
		m = m.least(loop.margins(1))
	}
	return m.Gain > LeastGain && m.Phase > LeastPhase
}

// Kinds are those that NewSick draws of.
func Kinds() []Kind {
	var kinds []Kind
	for _, m := range Members() {
		if _, ok := sickenings[m.Kind]; ok {
			kinds = append(kinds, m.Kind)
		}
	}
	return kinds
}

// NewSick draws a healthy machine with a governor that is healthy but for one
// kind of sickness.
func NewSick(kind Kind, seed uint64, tickRate float64) (*Specimen, error) {
	sicken, ok := sickenings[kind]
	if !ok {
		return nil, fmt.Errorf("none are drawn of the kind %q", kind)
	}
	for attempt := range uint64(20) {
		s, err := NewHealthy(seed+attempt<<32, tickRate)
		if err != nil {
			return nil, err
		}
		build := s.Member.build
		sick := func(w Wiring) (parts, bool) {
			p := build(w)
			fits := sicken(s, draw(seed^0x7369636b), &p)
			return p, fits
		}
		if _, fits := sick(s.Wiring); !fits {
			continue
		}
		s.Seed = seed
		s.Member = Member{
			Name: fmt.Sprintf("%s %d", kind, seed), About: s.Member.About, Kind: kind,
			build: func(w Wiring) parts { p, _ := sick(w); return p },
		}
		return s, nil
	}
	return nil, fmt.Errorf("%w: seed %d, %s", errNone, seed, kind)
}
