package predict

import (
	"govrig/rig/measure/loop"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// Plant is the machine linearised about one trim, at the engine: heli.Linear in
// a person's units.
type Plant struct {
	Speed         string  `json:"speed"`
	HeadRPM       float64 `json:"head_rpm"`
	CollectiveDeg float64 `json:"collective_deg"`
	// Problem tells why there is no trim, and so no more of this; else empty.
	Problem string `json:"problem,omitempty"`
	// Opening is the throttle's, in % of the full area.
	Opening float64 `json:"opening_percent"`
	// Gain is the steady change of engine speed per % of throttle travel, rpm.
	Gain float64 `json:"gain_rpm_per_percent"`
	// LoadGain is that per degree of collective, the throttle held, rpm.
	LoadGain float64 `json:"load_gain_rpm_per_degree"`
	Poles    []Pole  `json:"poles_per_s"`
	// EngineDelay and ServoLatency are dead times, ms.
	EngineDelay  float64 `json:"engine_delay_ms"`
	ServoLatency float64 `json:"servo_latency_ms"`
	// GainMargin and PhaseMargin, a factor and degrees, are those of the loop
	// here under the best setting of the case; nil without one.
	GainMargin  *float64 `json:"gain_margin_of_best"`
	PhaseMargin *float64 `json:"phase_margin_of_best_deg"`
}

// Pole is a pole, 1/s.
type Pole struct {
	Re float64 `json:"re"`
	Im float64 `json:"im"`
}

// plants are those of every speed setting at both ends of the load step.
func plants(m *machine.Machine, p heli.Params, best *Cell) ([]Plant, error) {
	g := m.GovernorParams(tickRate)
	heli := heli.New(p, stepTime)
	var all []Plant
	for _, s := range m.Speeds {
		held, _ := setting(g, s, m.Ratio())
		for _, pitch := range []float64{float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)} {
			row := Plant{Speed: s.Name, HeadRPM: held * rpm, CollectiveDeg: pitch * degrees, Poles: []Pole{}}
			l, err := heli.Linearise(held, pitch)
			if err != nil {
				row.Problem = problem(err)
				all = append(all, row)
				continue
			}
			row.fill(&l, g.ThrottleOpen-g.ThrottleClosed)
			if best != nil {
				margins, err := margins(g, &l, best.Gain/perKrpm, best.Time)
				if err != nil {
					return nil, err
				}
				row.take(margins)
			}
			all = append(all, row)
		}
	}
	return all, nil
}

// fill takes the linear plant over; travel is the range of the throttle pulse,
// s.
func (p *Plant) fill(l *heli.Linear, travel float64) {
	p.Opening = 100 * l.Opening
	p.Gain = l.PulseGain * travel / 100 * rpm
	p.LoadGain = l.LoadGain * rpm / degrees
	p.EngineDelay, p.ServoLatency = 1e3*l.Delay, 1e3*l.Latency
	for _, pole := range l.Poles {
		p.Poles = append(p.Poles, Pole{real(pole), imag(pole)})
	}
}

func (p *Plant) take(m loop.Margins) {
	p.GainMargin, p.PhaseMargin = lesser(nil, m.Gain), lesser(nil, m.Phase)
}
