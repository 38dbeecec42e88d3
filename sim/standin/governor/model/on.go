package model

import (
	"math"

	"govrig/sim/standin/governor"
)

// On gives the parameters of the governor on a machine: those that are given, of the
// machine and its lines, with what is known of the governor in their place. Ends of
// the throttle and pulses a turn stay those of the machine, where they are taught
// anew.
func (m *Model) On(p governor.Params) governor.Params {
	if m.Law.Gain != nil { // a law is known whole, or not at all
		p.IntegralTime, p.DerivativeTime, p.DerivativeLag, p.GainRise, p.DeadBand, p.FeedForward = 0, 0, 0, 0, 0, 0
		p.DeadTime, p.DeadTurns, p.MeasureLag = 0, 0, 0
	}
	override(&p.Gain, m.Law.Gain)
	override(&p.GainRise, m.Law.GainRise)
	override(&p.IntegralTime, m.Law.IntegralTime)
	override(&p.DerivativeTime, m.Law.DerivativeTime)
	override(&p.DerivativeLag, m.Law.DerivativeLag)
	override(&p.FeedForward, m.Law.FeedForward)
	override(&p.DeadBand, m.Law.DeadBand)
	p.WindUp = p.WindUp && m.Law.WindUp == "" || m.Law.WindUp == "yes"
	override(&p.DeadTime, m.Measuring.DeadTime)
	override(&p.DeadTurns, m.Measuring.Turns)
	override(&p.MeasureLag, m.Measuring.Lag)
	override(&p.FrameRate, m.Throttle.FrameRate)
	override(&p.OutputStep, m.Throttle.Step)
	override(&p.ArmOn, m.Arming.On)
	override(&p.ArmOff, m.Arming.Off)
	p.ArmOff = min(p.ArmOff, p.ArmOn)
	override(&p.ArmSpeed, m.Arming.Speed)
	override(&p.SpoolRate, m.Arming.Spool)
	m.onFaults(&p)
	override(&p.SpeedStep, m.Setting.Step)
	m.onSetting(&p)
	return p
}

func (m *Model) onFaults(p *governor.Params) {
	override(&p.LossTime, m.Faults.LossTime)
	override(&p.LossFall, m.Faults.Fall)
	p.LossOpen = p.LossOpen && m.Faults.OnLoss == "" || m.Faults.OnLoss == "holds"
	p.LossFull = p.LossFull && m.Faults.OnLoss == "" || m.Faults.OnLoss == "opens"
	override(&p.StickLoss, m.Faults.StickTime)
	p.StickKept = p.StickKept && m.Faults.OnStick == "" || m.Faults.OnStick == "goes_on"
}

// onSetting puts the speeds of the two ends of the select line on the straight line
// through the points that are known, least squares. Fewer than two tell no line.
func (m *Model) onSetting(p *governor.Params) {
	low, high, ok := m.Setting.Line(p.SelectLow, p.SelectHigh)
	if ok && low > 0 && high > low {
		p.SpeedLow, p.SpeedHigh = low, high
	}
}

// Line gives the speeds, rad/s, that two select pulses, s, ask for, on the straight
// line through the points, least squares. ok is false where there are fewer than two.
func (s *Setting) Line(first, second float64) (low, high float64, ok bool) {
	if len(s.Points) < 2 {
		return 0, 0, false
	}
	n := float64(len(s.Points))
	var pulse, speed, square, cross float64
	for _, at := range s.Points {
		pulse += float64(at.Pulse) / n
		speed += float64(at.Speed) / n
	}
	for _, at := range s.Points {
		d := float64(at.Pulse) - pulse
		square += d * d
		cross += d * (float64(at.Speed) - speed)
	}
	at := func(width float64) float64 { return speed + cross/square*(width-pulse) }
	return at(first), at(second), !math.IsNaN(at(first))
}
