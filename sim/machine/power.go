package machine

import (
	"fmt"
	"math"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/pickup"
	"govrig/sim/rotor"
	"govrig/sim/unit"
)

const (
	// stallLift is the mean lift coefficient above which a rotor is said to
	// hover near stall (common practice, no source).
	stallLift = 0.9
	// enoughPower is the least engine power over hover power without a caution,
	// a limit of our own.
	enoughPower = 1.2
)

// checkPower holds rotor, engine and clutch against each other at each speed.
func (k *checker) checkPower(m *Machine) {
	load := newLoad(m)
	for _, s := range m.Speeds {
		for _, text := range load.cautions(float64(s.HeadSpeed)) {
			k.Caution("speeds."+s.Name+".head_speed", text)
		}
	}
}

type load struct {
	rotor  rotor.Rotor
	engine engine.Engine
	drive  drive.Drive
	m      *Machine
}

func newLoad(m *Machine) *load {
	const anyStep = 1e-4
	p := m.heli
	return &load{
		rotor:  rotor.New(p.Rotor, p.Air.Density()),
		engine: engine.New(p.Engine, p.Air.State(), anyStep),
		drive:  drive.New(p.Drive, p.Engine.Inertia, p.Rotor.Inertia),
		m:      m,
	}
}

// cautions about running at a head speed, rad/s.
func (l *load) cautions(head float64) (all []string) {
	weight := float64(l.m.FlyingMass) * air.Gravity
	r := l.m.heli.Rotor
	area := float64(r.Blades) * r.Chord * r.Radius
	tip := head * r.Radius
	if lift := 6 * weight / (l.m.heli.Air.Density() * area * tip * tip); lift > stallLift {
		all = append(all, fmt.Sprintf("to hover, the blades need a mean lift coefficient of %.2f, near stall; the head speed, the chord or the mass may be wrong", lift))
	}
	hover := l.rotor.Steady(head, l.rotor.CollectiveFor(weight, head, 0), 0)
	high := l.rotor.Steady(head, float64(l.m.LoadStep.CollectiveHigh), 0)
	most := l.atHead(l.engine.Torque(1, head*l.ratio()))
	if most < enoughPower*hover.Torque {
		all = append(all, fmt.Sprintf("at full throttle there are %.0f W at the head, and a hover takes %.0f W", most*head, hover.Power))
	}
	if most < high.Torque {
		all = append(all, fmt.Sprintf("the load step takes %.0f W, more than the %.0f W there are; lower load_step.collective_high", high.Power, most*head))
	}
	if grip := l.atHead(l.drive.Capacity(head * l.ratio())); grip < min(high.Torque, most) {
		all = append(all, "the clutch slips under the load step; check clutch.torque")
	}
	return all
}

func (l *load) ratio() float64 { return l.drive.Train().Ratio }

// climb is the collective, rad, at which a head speed, rad/s, takes a share of
// what the engine gives there; at least a degree above the lesser collective of
// the load step.
func (l *load) climb(head, share float64) float64 {
	wanted := share * l.atHead(l.engine.Torque(1, head*l.ratio()))
	light := float64(l.m.LoadStep.CollectiveLow)
	low, high := light, mostClimb
	for range 40 { // halves until far below a tenth of a degree
		middle := (low + high) / 2
		if l.rotor.Steady(head, middle, 0).Torque < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return max(low, light+math.Pi/180)
}

// atHead is a torque of the crankshaft as it arrives at the head, N·m.
func (l *load) atHead(torque float64) float64 {
	return torque * l.ratio() * l.drive.Train().Efficiency
}

// checkPulses warns when the governor would count something else than turns.
func (k *checker) checkPulses(m *Machine) {
	predicted, err := pickup.Predict(m.pickup)
	if err != nil {
		k.partFault(err, "pickup")
		return
	}
	if n := m.Governor.PulsesPerTurn; predicted.PulsesPerRev != n {
		k.Caution("governor.pulses_per_turn", fmt.Sprintf(
			"the governor counts %d to a turn, but by its geometry the pickup gives %d: the governor would hold a wrong speed, or none", n, predicted.PulsesPerRev))
	}
}

// assumeSquareRod notes the rod that is taken when none is given.
func (k *checker) assumeSquareRod(m *Machine) {
	rod := unit.Length(m.linkage.Rod)
	m.Linkage.Rod = &rod
	k.Assume("throttle_linkage.rod_length", rod.Dimension().Format(float64(rod), "mm")+", which puts both arms square")
}
