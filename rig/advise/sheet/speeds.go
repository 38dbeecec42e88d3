package sheet

import (
	"fmt"
	"math"
	"math/big"

	"govrig/sim/machine"
	"govrig/sim/rotor"
)

// SpeedRow is one wanted head speed, followed through to the pickup. From
// SetEngineRPM on it is what the governor, once set, holds.
type SpeedRow struct {
	Name            string  `json:"name"`
	WantedHeadRPM   float64 `json:"wanted_head_rpm"`
	WantedEngineRPM float64 `json:"wanted_engine_rpm"`
	// SetEngineRPM is the nearest speed that the governor can be set to.
	SetEngineRPM float64 `json:"set_engine_rpm"`
	// SelectUS is the pulse width on the select line that should ask for it,
	// on a straight line between the ends, or that picks it from the stored ones;
	// 0 when the governor has no select input.
	SelectUS        float64 `json:"select_us"`
	SetHeadRPM      float64 `json:"set_head_rpm"`
	PulsesPerSecond float64 `json:"pulses_per_s"`
	// PulseWidthUS is how long the pickup's output is on; 0 when the pickup
	// gives no pulse.
	PulseWidthUS float64 `json:"pulse_width_us"`
	TipSpeedMS   float64 `json:"tip_speed_m_per_s"`
	TipMach      float64 `json:"tip_mach"`
	StoredJ      float64 `json:"stored_energy_j"`
	// StoredFeels says the stored energy in things a person knows.
	StoredFeels string `json:"stored_energy_feels_like"`
	// BladePullN is the centrifugal force at the root of each blade; 0 when the
	// blades' mass is unknown.
	BladePullN float64 `json:"blade_pull_n"`
	// TickErrorRPM is how far one board tick moves the engine speed.
	TickErrorRPM float64 `json:"one_tick_engine_rpm"`
	// BoardProblem tells why the board cannot play this speed; empty when it
	// can.
	BoardProblem string `json:"board_problem"`
}

func speedRow(s Setup, chain Chain, width float64, speed Speed) SpeedRow {
	head := ratRPM(speed.Head)
	engine := chain.Engine(head)
	set := settable(s.Governor, engine)
	pulses := chain.Pulses(set)
	held := chain.Head(pulses)
	turning := float(held) * math.Pi / 30
	tip := turning * s.Rotor.Radius
	stored := rotor.Energy(s.Rotor.Inertia, turning)
	period := 1 / float(pulses)
	on := width * period * float64(chain.PulsesPerTurn)
	return SpeedRow{
		Name:            speed.Name,
		WantedHeadRPM:   float(head),
		WantedEngineRPM: float(engine),
		SetEngineRPM:    float(set),
		SetHeadRPM:      float(held),
		SelectUS:        1e6 * selectPulse(s.Governor, speed, float(set)*math.Pi/30),
		PulsesPerSecond: float(pulses),
		PulseWidthUS:    1e6 * on,
		TipSpeedMS:      tip,
		TipMach:         tip / s.Air.State().SoundSpeed,
		StoredJ:         stored,
		StoredFeels:     feels(stored),
		BladePullN:      rotor.BladePull(s.BladeMass, s.Rotor.Radius, turning),
		TickErrorRPM:    float(set) * s.Board.Tick / period,
		BoardProblem:    s.Board.problem(period, on),
	}
}

// selectPulse is the pulse width, s, that asks for an engine speed, rad/s.
func selectPulse(g machine.Governor, s Speed, engine float64) float64 {
	switch g.Select {
	case machine.SelectNone:
		return 0
	case machine.SelectSteps:
		return s.StoredSelect
	}
	return g.SelectPulse(engine)
}

func float(r *big.Rat) float64 {
	f, _ := r.Float64()
	return f
}

// feels puts joules beside a small car (1000 kg) that rolls and a sledge
// hammer (5 kg) that falls: E = mv²/2 = mgh.
func feels(joules float64) string {
	const car, hammer, gravity = 1000, 5, 9.80665
	rolls := math.Sqrt(2*joules/car) * 3.6
	falls := joules / (hammer * gravity)
	return fmt.Sprintf("a small car (1000 kg) at %.1f km/h, or a 5 kg hammer dropped from %s", rolls, metres(falls))
}

func metres(m float64) string {
	if m < 10 {
		return fmt.Sprintf("%.1f m", m)
	}
	return fmt.Sprintf("%.0f m", m)
}

// problem tells why the board cannot play pulses of a period and width in s,
// or nothing. A width of 0 is unknown and not looked at.
func (b Board) problem(period, width float64) string {
	switch {
	case period < b.MinPeriod:
		return fmt.Sprintf("%.0f pulses a second are too many: the board plays up to %.0f", 1/period, 1/b.MinPeriod)
	case period > b.MaxPeriod:
		return fmt.Sprintf("%.0f pulses a second are too few: the board plays from %.0f", 1/period, 1/b.MaxPeriod)
	case width > 0 && width < b.MinWidth:
		return fmt.Sprintf("pulses of %.0f µs are too short: the board plays from %.0f µs", 1e6*width, 1e6*b.MinWidth)
	case period-width < b.MinGap:
		return fmt.Sprintf("only %.0f µs between pulses: the board needs %.0f µs", 1e6*(period-width), 1e6*b.MinGap)
	}
	return ""
}
