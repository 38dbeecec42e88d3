package machine

import (
	"math"
	"slices"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/heli"
	"govrig/sim/linkage"
	"govrig/sim/pickup"
	"govrig/sim/rotor"
	"govrig/sim/servo"
	"govrig/sim/standin/governor"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// HeliParams are those of the whole simulated machine.
func (m *Machine) HeliParams() heli.Params {
	p := m.heli
	p.Drive.Stages = slices.Clone(p.Drive.Stages)
	p.Throttle = slices.Clone(p.Throttle)
	return p
}

// LinkageParams are those of the throttle linkage and barrel.
func (m *Machine) LinkageParams() linkage.Params { return m.linkage }

// PickupParams are those of the pickup.
func (m *Machine) PickupParams() pickup.Params { return m.pickup }

// Ratio is crankshaft turns for one turn of the head.
func (m *Machine) Ratio() float64 { return drive.NewTrain(m.heli.Drive.Stages).Ratio }

// GovernorParams are those of the simulated governor, with edges stamped in ticks of
// the given rate, 1/s: the one that was put in the stand-in's place, or the stand-in
// with its quirk.
func (m *Machine) GovernorParams(tickRate float64) governor.Params {
	p := m.StandInModel().On(m.governorLines(tickRate))
	if m.Other != nil {
		return m.here(*m.Other).On(p)
	}
	if q, ok := governor.QuirkByName(string(m.StandIn.Quirk)); ok {
		p = q.Apply(p)
	}
	return p
}

// governorLines are the parameters of a governor's lines on this machine.
func (m *Machine) governorLines(tickRate float64) governor.Params {
	g := m.Governor
	p := governor.Params{
		TickRate:       tickRate,
		PulsesPerTurn:  g.PulsesPerTurn,
		PickupLow:      m.Pickup.Active == Low,
		ThrottleClosed: float64(m.Servo.ClosedPulse),
		ThrottleOpen:   float64(m.Servo.OpenPulse),
		SelectLow:      float64(g.SelectLow),
		SelectHigh:     float64(g.SelectHigh),
		SpeedLow:       float64(g.SpeedLow),
		SpeedHigh:      float64(g.SpeedHigh),
	}
	switch g.Select {
	case SelectNone:
		p.Dialled = float64(m.Speeds[0].HeadSpeed) * m.Ratio()
	case SelectSteps:
		for _, speed := range m.Speeds {
			width, _ := m.SettingPulse(speed)
			p.Stored = append(p.Stored, governor.Stored{Width: width, Speed: float64(speed.HeadSpeed) * m.Ratio()})
		}
	}
	return p
}

// here is a governor as it is set up on this machine: the select line of another one
// does not count, since its range and its ends are set anew on each.
func (m *Machine) here(other model.Model) *model.Model {
	if other.Machine != m.Name {
		other.Setting = model.Setting{}
	}
	return &other
}

// StandInModel is the section stand_in as a governor file has it, without the quirk.
func (m *Machine) StandInModel() *model.Model {
	s := m.StandIn
	of := &model.Model{Format: model.Format, Name: "Stand-in of " + m.Name, Machine: m.Name, Bench: "virtual"}
	of.Law.Gain = model.Known[unit.Gain](float64(s.Gain), 0, "")
	if s.IntegralTime > 0 {
		of.Law.IntegralTime = model.Known[unit.Time](float64(s.IntegralTime), 0, "")
	}
	of.Throttle.FrameRate = model.Known[unit.Frequency](float64(s.FrameRate), 0, "")
	of.Throttle.Step = model.Known[unit.Time](float64(s.OutputStep), 0, "")
	of.Arming.On = model.Known[unit.Share](float64(s.ArmOn), 0, "")
	of.Arming.Off = model.Known[unit.Share](float64(s.ArmOff), 0, "")
	of.Arming.Speed = model.Known[unit.Speed](float64(s.ArmSpeed), 0, "")
	of.Arming.Spool = model.Known[unit.Acceleration](float64(s.SpoolRate), 0, "")
	of.Setting.Step = model.Known[unit.Speed](float64(m.Governor.SpeedStep), 0, "")
	of.Faults.LossTime = model.Known[unit.Time](float64(s.LossTime), 0, "")
	return of
}

func (m *Machine) airParams() (air.Params, error) {
	a := m.Air
	if a.Pressure != nil {
		return air.Params{
			Pressure: float64(*a.Pressure), Temperature: float64(a.Temperature), Humidity: float64(a.Humidity),
		}, nil
	}
	return air.At(float64(a.Altitude), float64(a.Temperature), float64(a.Humidity))
}

func (m *Machine) engineParams() engine.Params {
	e := m.Engine
	bore := float64(m.Carburettor.Bore)
	peak := float64(e.PeakSpeed)
	return engine.Params{
		Displacement:     float64(e.Displacement),
		Inertia:          float64(e.Inertia),
		PeakPressure:     float64(e.PeakPressure),
		PeakSpeed:        peak,
		SpeedSpan:        float64(e.TorqueSpan),
		FrictionConstant: float64(e.Friction),
		FrictionSquare:   float64(e.FrictionPeak-e.Friction) / (peak * peak),
		IntakeArea:       math.Pi / 4 * bore * bore,
		FlowCoefficient:  float64(e.Flow),
		IdleSpeed:        float64(e.IdleSpeed),
		StallSpeed:       float64(e.StallSpeed),
		Delay:            float64(e.Delay),
		ChargeLag:        float64(e.ChargeLag),
		MixtureLag:       float64(e.MixtureLag),
		MixtureLoss:      float64(e.MixtureLoss),
		Variation:        float64(e.Variation),
		Misfire:          float64(e.Misfire),
		Seed:             uint64(e.Seed),
	}
}

func (m *Machine) driveParams() drive.Params {
	stages := make([]drive.Stage, len(m.Gears))
	for i, g := range m.Gears {
		driver, driven := g.teeth()
		stages[i] = drive.Stage{
			Driver: driver, Driven: driven, Efficiency: float64(g.Efficiency), Inertia: float64(g.Inertia),
		}
	}
	return drive.Params{
		Clutch: drive.Clutch{
			EngagementSpeed: float64(m.Clutch.Engagement),
			Capacity:        float64(m.Clutch.Torque),
			CapacitySpeed:   float64(m.Clutch.TorqueSpeed),
			BellInertia:     float64(m.Clutch.BellInertia),
		},
		Stages: stages,
	}
}

func (m *Machine) rotorParams() rotor.Params {
	r, t := m.Main, m.Tail
	blades := rotor.RodInertia(r.Blades, float64(r.BladeMass), float64(r.Radius))
	return rotor.Params{
		Blades:        r.Blades,
		Radius:        float64(r.Radius),
		Chord:         float64(r.Chord),
		LiftSlope:     r.LiftSlope,
		DragZero:      r.DragZero,
		DragLift:      r.DragLift,
		InducedFactor: r.InducedFactor,
		TipLoss:       r.TipLoss,
		TailShare:     float64(t.PowerShare),
		Inertia:       blades + float64(r.HubInertia) + float64(t.Inertia)*t.SpeedRatio*t.SpeedRatio,
		InflowMass:    r.InflowMass,
	}
}

func (m *Machine) servoParams() servo.Params {
	s := m.Servo
	return servo.Params{
		PulseLow:   math.Min(float64(s.ClosedPulse), float64(s.OpenPulse)),
		PulseHigh:  math.Max(float64(s.ClosedPulse), float64(s.OpenPulse)),
		Travel:     float64(s.Travel),
		Rate:       math.Pi / 3 / float64(s.Time60),
		DeadBand:   float64(s.DeadBand),
		Resolution: float64(s.Resolution),
		Latency:    float64(s.Latency),
		Backlash:   float64(s.Backlash),
	}
}

func (m *Machine) linkageParams() linkage.Params {
	l := m.Linkage
	p := linkage.Params{
		ServoArm: float64(l.ServoArm),
		CarbArm:  float64(l.CarbArm),
		Pivots:   float64(l.Pivots),
		Crossed:  l.Arms == OppositeSides,
		ServoMid: float64(l.ServoMid),
		Travel:   float64(m.Servo.Travel) / 2,
		CarbOpen: float64(l.CarbOpen),
		Barrel: linkage.Barrel{
			Diameter: float64(m.Carburettor.Barrel),
			Bore:     float64(m.Carburettor.Bore),
			Hole:     float64(m.Carburettor.Hole),
		},
	}
	if l.Opens == Toward {
		p.Travel = -p.Travel
	}
	p.Rod = p.SquareRod()
	if l.Rod != nil {
		p.Rod = float64(*l.Rod)
	}
	return p
}

func (m *Machine) pickupParams() pickup.Params {
	p := m.Pickup
	return pickup.Params{
		Magnet: pickup.Magnet{
			Diameter: float64(p.Magnet.Diameter), Length: float64(p.Magnet.Length), Remanence: float64(p.Magnet.Remanence),
		},
		Count:     p.Magnets,
		Pattern:   p.Pattern,
		Radius:    float64(p.Radius),
		Axis:      p.Axis,
		Pole:      p.Pole,
		Placement: p.Placement,
		Gap:       float64(p.Gap),
		Offset:    float64(p.Offset),
		Sensor: pickup.Sensor{
			Kind:    p.Sensor.Kind,
			Normal:  p.Sensor.Facing,
			Back:    p.Sensor.Side == Plain,
			Depth:   float64(p.Sensor.Depth),
			Operate: pickup.Point{Typical: float64(p.Sensor.Operate), Worst: float64(p.Sensor.OperateMax)},
			Release: pickup.Point{Typical: float64(p.Sensor.Release), Worst: float64(p.Sensor.ReleaseMin)},
		},
	}
}
