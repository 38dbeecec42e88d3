package board

import (
	"govrig/protocol"
	"govrig/sim/standin/governor"
)

// What the firmware keeps to beside the limits of package protocol.
const (
	selectOffsetTicks = 44_800 // from a stick pulse to the select pulse
	selectStepTicks   = 8
)

// status is what telemetry tells.
type status struct {
	sequence     uint8
	pickups      uint8
	pickupTick   int64
	edges        [protocol.MaxEdges + 1]int64 // those since the last frame, the newest of them
	edgesLen     int
	appliedDrive uint8
	appliedTick  int64
	lost         uint8
	captured     [protocol.MaxPulses]protocol.Pulse
	pulses       int
}

// played takes note of a leading edge of the pickup line.
func (s *status) played(tick int64) {
	s.pickups++
	s.pickupTick = tick
	if s.edgesLen == len(s.edges) {
		s.edgesLen = copy(s.edges[:], s.edges[1:])
	}
	s.edges[s.edgesLen] = tick
	s.edgesLen++
}

// session is what Configure sets up and what Drive keeps alive.
type session struct {
	config      protocol.Configure
	width       int64
	servoPeriod int64
	telemetry   int64 // next frame; never when quiet
	failsafe    int64 // when the host counts as silent; never when nothing is driven
	flags       uint8
	last        bool // the next telemetry is the answer to Stop
	status      status
}

func (s *session) reset() {
	*s = session{telemetry: never, failsafe: never, flags: protocol.TelemetrySafe}
}

func (s *session) pickupLow() bool { return s.config.Options&protocol.OptionPickupLow != 0 }

// receive acts on a message from the host. One that does not parse counts as a
// bad frame.
func (b *Board) receive(it item) {
	message := it.message[:it.length]
	var err error
	switch message[0] {
	case protocol.IdentifyID:
		b.identify()
	case protocol.ConfigureID:
		var m protocol.Configure
		if err = m.Parse(message); err == nil {
			b.configure(&m)
		}
	case protocol.DriveID:
		var m protocol.Drive
		if err = m.Parse(message); err == nil {
			b.drive(&m)
		}
	case protocol.StopID:
		b.safe()
		b.session.telemetry, b.session.last = b.now, true
	default:
		err = &protocol.IDError{ID: message[0]}
	}
	if err != nil {
		b.decoder.Losses.Form++
	}
}

func (b *Board) identify() {
	id := protocol.Identity{
		Protocol: protocol.Version, Board: protocol.BoardVirtual, FirmwareMajor: 1,
		ResetCause: protocol.ResetPowerOn, Nonce: uint32(b.options.Start) ^ 0x676F7672, TickHz: TickHz,
		MinWidthTicks: protocol.MinWidthTicks, MaxWidthTicks: protocol.MaxWidthTicks,
		MinPeriodTicks: protocol.MinPeriodTicks, MaxPeriodTicks: protocol.MaxPeriodTicks,
		MinTelemetryTicks: protocol.MinTelemetryTicks,
		MinFailsafeTicks:  protocol.MinFailsafeTicks, MaxFailsafeTicks: protocol.MaxFailsafeTicks,
		MaxServoTicks: protocol.MaxServoTicks, MinServoPeriodTicks: protocol.MinServoPeriodTicks,
	}
	b.send(id.AppendTo(nil))
}

func (b *Board) configure(m *protocol.Configure) {
	answer := protocol.Configured{Sequence: m.Sequence, Refused: refuse(m)}
	if answer.Refused == 0 {
		b.session.reset()
		b.session.config = *m
		b.session.width = int64(m.PickupWidthTicks)
		b.session.servoPeriod = int64(m.ServoPeriodTicks)
		b.session.telemetry = b.now + int64(m.TelemetryTicks)
		b.stick.rise = b.now + b.session.servoPeriod
		b.selector.rise = b.stick.rise + selectOffsetTicks
		b.selector.width = 0
		b.capture.configure(m.Options)
		b.levels.forget()
		b.startTurning()
		b.jump(governor.Pickup, b.session.pickupLow())
		b.safe()
	}
	b.send(answer.AppendTo(nil))
}

// refuse gives the reason to refuse settings, or 0.
func refuse(m *protocol.Configure) uint8 {
	outside := func(v, low, high uint32) bool { return v < low || v > high }
	switch {
	case m.TelemetryTicks < protocol.MinTelemetryTicks:
		return protocol.RefusedTelemetry
	case outside(m.FailsafeTicks, protocol.MinFailsafeTicks, protocol.MaxFailsafeTicks):
		return protocol.RefusedFailsafe
	case outside(uint32(m.PickupWidthTicks), protocol.MinWidthTicks, protocol.MaxWidthTicks):
		return protocol.RefusedWidth
	case outside(m.ServoPeriodTicks, protocol.MinServoPeriodTicks, protocol.MaxServoPeriodTicks) || m.SafeStickTicks > protocol.MaxServoTicks:
		return protocol.RefusedServo
	}
	return 0
}

func (b *Board) drive(m *protocol.Drive) {
	s := &b.session
	if s.telemetry == never || s.flags&protocol.TelemetryFailsafe != 0 {
		return
	}
	s.flags = s.flags&^protocol.TelemetrySafe | protocol.TelemetryDriven
	s.failsafe = b.now + int64(s.config.FailsafeTicks)
	s.status.appliedDrive, s.status.appliedTick = m.Sequence, b.now
	b.stick.width, b.selector.width = servoWidth(m.StickTicks), servoWidth(m.SelectTicks)
	b.pickup.drive(b.now, m)
}

// servoWidth is the width of a servo pulse as the board plays it: 0 is none.
func servoWidth(ticks uint16) int64 {
	if ticks == 0 {
		return 0
	}
	return min(max(int64(ticks), protocol.MinWidthTicks), protocol.MaxServoTicks)
}

// safe puts the board in its safe state.
func (b *Board) safe() {
	b.pickup.stop()
	b.stick.width = servoWidth(b.session.config.SafeStickTicks)
	b.session.failsafe = never
	b.session.flags |= protocol.TelemetrySafe
}

func (b *Board) fail() {
	b.safe()
	b.session.flags |= protocol.TelemetryFailsafe
}

func (b *Board) sendTelemetry() {
	s := &b.session
	m := protocol.Telemetry{
		Sequence: s.status.sequence, Ticks: uint32(b.now),
		PickupCount: s.status.pickups, PickupTicks: low24(s.status.pickupTick),
		AppliedDrive: s.status.appliedDrive, AppliedTicks: low24(s.status.appliedTick),
		BadFrames: uint8(b.decoder.Losses.Total()), LostCaptures: s.status.lost,
		Flags: s.flags, Pulses: s.status.captured, PulsesLen: s.status.pulses,
	}
	if b.pickup.playing {
		m.Flags |= protocol.TelemetryPlaying
	}
	if b.capture.high[b.capture.input] {
		m.Flags |= protocol.TelemetryCaptureHigh
	}
	b.sendEdges()
	s.status.sequence++
	b.levels.due = b.capture.input == Probe && s.status.sequence%protocol.LevelsEvery == 0 && !s.last
	s.status.pulses = 0
	s.telemetry += int64(s.config.TelemetryTicks)
	if s.last {
		s.telemetry, s.last = never, false
	}
	var buf [protocol.MaxPayload]byte
	b.send(m.AppendTo(buf[:0]))
}

// sendEdges tells of the pickup edges since the last frame, but for the newest.
func (b *Board) sendEdges() {
	s := &b.session.status
	m := protocol.Edges{Sequence: s.sequence, EdgesLen: max(0, s.edgesLen-1)}
	s.edgesLen = 0
	if m.EdgesLen == 0 {
		return
	}
	for i := range m.EdgesLen {
		m.Edges[i].Ticks = low24(s.edges[i])
	}
	var buf [protocol.MaxPayload]byte
	b.send(m.AppendTo(buf[:0]))
}
