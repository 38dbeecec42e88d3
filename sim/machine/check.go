package machine

import (
	"fmt"
	"math"

	"govrig/sim/air"
	"govrig/sim/keyfile"
	"govrig/sim/unit"
)

// Tip Mach numbers. Above MaxTipMach a machine is refused, above
// CautionTipMach it comes with a caution. Both are limits of our own: model
// rotors run at 0.35 to 0.5 (common practice, no source); sim/rotor does not
// model the drag rise and holds to about 0.6, and the pull on the blades grows
// with the square of the speed.
const (
	MaxTipMach     = 0.60
	CautionTipMach = 0.45
)

// checker holds the values of a machine file against each other.
type checker struct{ *keyfile.Reader }

// above refuses a value that is not above another.
func (k *checker) above(path string, value float64, other string, least float64, why string) {
	if !(value > least) {
		k.Fail(path, "it must be above "+other+": "+why, "that one stands on line "+k.Line(other))
	}
}

// checkOrder checks keys against each other.
func (k *checker) checkOrder(m *Machine) {
	e, c := m.Engine, m.Clutch
	k.above("engine.idle_speed", float64(e.IdleSpeed), "engine.stall_speed", float64(e.StallSpeed)/0.95, "with some reserve, or the engine dies at idle")
	k.above("clutch.engagement_speed", float64(c.Engagement), "engine.idle_speed", float64(e.IdleSpeed), "or the rotor turns at idle")
	k.above("clutch.torque_speed", float64(c.TorqueSpeed), "clutch.engagement_speed", 1.05*float64(c.Engagement), "with some reserve, there the clutch carries nothing yet")
	if e.FrictionPeak < e.Friction {
		k.Fail("engine.friction_pressure_at_peak", "it is below engine.friction_pressure", "friction grows with speed")
	}
	l, b := m.Linkage, m.Carburettor
	k.above("throttle_linkage.pivot_distance", float64(l.Pivots), "throttle_linkage.servo_arm", 1.02*float64(l.ServoArm), "with some reserve, or the arm turns into the pivot")
	k.above("carburettor.barrel_diameter", float64(b.Barrel), "carburettor.bore", 1.02*float64(b.Bore), "the bore goes through the barrel")
	k.above("carburettor.barrel_diameter", float64(b.Barrel), "carburettor.barrel_hole", 1.02*float64(b.Hole), "the hole goes through the barrel")
	k.apart("throttle_servo.open_pulse", m.Servo.OpenPulse, m.Servo.ClosedPulse, "throttle_servo.closed_pulse")
	k.checkGears(m)
	k.checkPickup(m.Pickup)
	k.checkTransmitter(m.Transmitter)
	k.checkGovernor(m)
}

// apart refuses two pulse widths that tell no travel.
func (k *checker) apart(path string, a, b unit.Time, other string) {
	if math.Abs(float64(a-b)) < 100e-6 {
		k.Fail(path, "it is less than 100 µs from "+other, "give the pulse widths at the two ends")
	}
}

func (k *checker) checkPickup(p Pickup) {
	s := p.Sensor
	const sensor = "pickup.sensor."
	k.above(sensor+"operate", float64(s.Operate), sensor+"release", float64(s.Release), "a switch has hysteresis")
	if s.OperateMax < s.Operate {
		k.Fail(sensor+"operate_max", "it is below the typical operate point", "it is that of the least sensitive part")
	}
	if s.ReleaseMin > s.Release {
		k.Fail(sensor+"release_min", "it is above the typical release point", "it is that of the part that lets go last")
	}
	latch := s.Kind == "latch"
	for _, r := range []struct {
		key   string
		value unit.Flux
	}{{"release", s.Release}, {"release_min", s.ReleaseMin}} {
		if latch && r.value >= 0 {
			k.Fail(sensor+r.key, "a latch lets go at the other pole", "write a negative release point")
		} else if !latch && r.value <= 0 {
			k.Fail(sensor+r.key, "only a latch lets go at the other pole", "write a positive release point")
		}
	}
	if p.Pattern == "alternating" && p.Magnets%2 != 0 {
		k.Fail("pickup.magnets", "alternating poles need an even number of magnets", "count them again")
	}
}

func (k *checker) checkGovernor(m *Machine) {
	g, s := m.Governor, m.StandIn
	k.above("governor.highest_speed", float64(g.SpeedHigh), "governor.lowest_speed", float64(g.SpeedLow), "it is the other end of the range")
	k.apart("governor.select_at_highest", g.SelectHigh, g.SelectLow, "governor.select_at_lowest")
	if s.ArmOff > s.ArmOn {
		k.Fail("stand_in.arm_off", "it is above stand_in.arm_on", "a governor disengages below the point where it engages")
	}
	k.above("load_step.collective_high", float64(m.LoadStep.CollectiveHigh), "load_step.collective_low", float64(m.LoadStep.CollectiveLow), "more pitch is more load")
}

// checkSpeeds holds each wanted head speed against rotor, clutch and governor.
func (k *checker) checkSpeeds(m *Machine) {
	sound := air.SoundSpeed(float64(m.Air.Temperature))
	if m.headsRange() {
		k.Fail("governor.highest_speed", "the wanted head speeds lie in the governor's range, and the crankshaft speeds that they ask for do not",
			"is it the range at the head? lowest_speed and highest_speed are those of the crankshaft")
		return
	}
	for _, s := range m.Speeds {
		path := "speeds." + s.Name + ".head_speed"
		mach := float64(s.HeadSpeed) * float64(m.Main.Radius) / sound
		engine := float64(s.HeadSpeed) * m.Ratio()
		switch {
		case mach > MaxTipMach:
			k.Fail(path, fmt.Sprintf("the blade tips would run at Mach %.2f", mach),
				fmt.Sprintf("at this radius and temperature Mach %.2f is %s at the head", MaxTipMach, rpm(MaxTipMach*sound/float64(m.Main.Radius))))
		case engine < float64(m.Governor.SpeedLow) || engine > float64(m.Governor.SpeedHigh):
			k.Fail(path, fmt.Sprintf("it asks for %s at the crankshaft, which the governor cannot be set to", rpm(engine)),
				fmt.Sprintf("its range, %s to %s, is %s to %s at the head", rpm(float64(m.Governor.SpeedLow)), rpm(float64(m.Governor.SpeedHigh)),
					rpm(float64(m.Governor.SpeedLow)/m.Ratio()), rpm(float64(m.Governor.SpeedHigh)/m.Ratio())))
		case m.Main.GreatestHeadSpeed > 0 && s.HeadSpeed > m.Main.GreatestHeadSpeed:
			k.Fail(path, "it is above main_rotor.greatest_head_speed, the greatest that the blade maker allows",
				"that one stands on line "+k.Line("main_rotor.greatest_head_speed")+"; only the blade maker can raise it")
		case engine <= float64(m.Clutch.Engagement):
			k.Fail(path, fmt.Sprintf("it asks for %s at the crankshaft, where the clutch does not grip", rpm(engine)),
				"the clutch's engagement_speed stands on line "+k.Line("clutch.engagement_speed"))
		case mach > CautionTipMach:
			k.Caution(path, fmt.Sprintf("the blade tips run at Mach %.2f. Keep to the blade maker's greatest head speed; nobody in the plane of the blades", mach))
		}
	}
}

// checkBlades warns when the governor can be set to more than the blades bear.
func (k *checker) checkBlades(m *Machine) {
	greatest, fastest := float64(m.Main.GreatestHeadSpeed), float64(m.Governor.SpeedHigh)/m.Ratio()
	if greatest > 0 && fastest > greatest {
		k.Caution("governor.highest_speed", fmt.Sprintf("at its highest setting the governor turns the head at %s, and the blade maker allows %s. Lower that end in the governor if it lets you",
			rpm(fastest), rpm(greatest)))
	}
}

// checkSelect warns of select pulses that nothing would use.
func (k *checker) checkSelect(m *Machine) {
	for _, s := range m.Speeds {
		if s.Select != nil && m.Governor.Select != SelectSteps {
			k.Caution("speeds."+s.Name+".select_pulse", "it is not used, for the governor has no stored steps to pick from. Write “select: steps” under governor if it has")
		}
	}
}

// checkFrames warns when the governor is known to send more pulses a second
// than the servo takes.
func (k *checker) checkFrames(m *Machine) {
	if most := m.Servo.GreatestFrameRate(); most > 0 && m.Governor.FrameRate != nil && float64(*m.Governor.FrameRate) > frameSlack*most {
		k.Caution("governor.frame_rate", fmt.Sprintf("the governor sends %.0f pulses a second, and the throttle servo is made for %.0f: it may run hot and fail. Do not connect them",
			float64(*m.Governor.FrameRate), most))
	}
}

func degrees(rad float64) string { return fmt.Sprintf("%.1f°", rad*180/math.Pi) }

func rpm(radPerSecond float64) string { return fmt.Sprintf("%.0f rpm", radPerSecond*30/math.Pi) }
