package board

import "govrig/protocol"

const (
	// referenceVolts is the level of the probe at which the comparator switches.
	referenceVolts = 1.1
	supplyVolts    = 5.0
)

// levels are those of the pickup probe, V.
type levels struct {
	now, lowest, highest float64
	due                  bool // they are told when the telemetry frame is out
}

// forget starts over.
func (l *levels) forget() { l.lowest, l.highest = l.now, l.now }

// probe takes in the probe's voltage from tick on.
func (b *Board) probe(tick int64, volts float64) {
	l := &b.levels
	l.now, l.lowest, l.highest = volts, min(l.lowest, volts), max(l.highest, volts)
	b.capture.edge(Probe, tick, volts > referenceVolts, &b.session.status)
}

// converted is a voltage as the board tells it.
func converted(volts float64) uint16 {
	return uint16(min(max(volts/supplyVolts*protocol.LevelsScale, 0), protocol.LevelsScale-1))
}

// sendLevels tells the levels since the last time.
func (b *Board) sendLevels() {
	l := &b.levels
	m := protocol.Levels{Lowest: converted(l.lowest), Highest: converted(l.highest)}
	l.due = false
	l.forget()
	b.send(m.AppendTo(nil))
}
