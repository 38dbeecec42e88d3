package replay

import (
	"errors"
	"fmt"

	"govrig/protocol"
	"govrig/rig/runlog"
	"govrig/rig/tick"
)

// Line is one of the board's lines.
type Line int

// The lines whose pulses stand in a record.
const (
	Pickup   Line = iota // played by the board
	Throttle             // timed by the board
	Probe                // timed by the board in place of the throttle line
)

// Pulse is a pulse that the board has played or timed. Moments are ticks from
// the start of the run.
type Pulse struct {
	Line  Line
	Start int64
	// Width is as it was timed; that of the pickup line is as it was ordered.
	Width int64
	// Unseen is how many pulses the board has played on the pickup line since
	// the one before of which it does not tell when.
	Unseen int64
}

// Watch is told what a record says of the board's lines, in the order in which
// it came to the host. Any of its functions may be nil.
type Watch struct {
	// Settings are in force from the moment at.
	Settings func(at int64, c *protocol.Configure)
	// Order answers the telemetry frame of the moment at.
	Order func(at int64, d *protocol.Drive)
	Pulse func(Pulse)
	// Frame comes after all that a telemetry frame tells of.
	Frame func(at int64)
}

// Lines shows w what is in rec.
func Lines(rec *runlog.Record, w Watch) error {
	l := lines{watch: w}
	var err error
	failed := rec.Messages(func(m runlog.Message) bool {
		if err = l.message(m.Bytes); err != nil {
			err = fmt.Errorf("%s: %w", rec.Dir, err)
		}
		return err == nil
	})
	return errors.Join(err, failed)
}

// lines follows the messages of a record.
type lines struct {
	watch   Watch
	clock   tick.Extender
	zero    int64
	begun   bool
	now     int64 // ticks from the start of the run
	asked   protocol.Configure
	config  protocol.Configure
	taken   bool    // config is in force: telemetry counts
	waiting []int64 // moments of the frames that have not been answered
	count   uint8
	counted bool
	t       protocol.Telemetry
	d       protocol.Drive
}

func (l *lines) message(m []byte) error {
	switch m[0] {
	case protocol.ConfigureID:
		l.taken = false
		return l.asked.Parse(m)
	case protocol.ConfiguredID:
		return l.configured(m)
	case protocol.DriveID:
		if err := l.d.Parse(m); err != nil || len(l.waiting) == 0 {
			return err
		}
		if l.watch.Order != nil {
			l.watch.Order(l.waiting[0], &l.d)
		}
		l.waiting = l.waiting[:copy(l.waiting, l.waiting[1:])]
	case protocol.TelemetryID:
		if err := l.t.Parse(m); err != nil {
			return err
		}
		l.telemetry()
	}
	return nil
}

func (l *lines) configured(m []byte) error {
	var answer protocol.Configured
	if err := answer.Parse(m); err != nil || answer.Refused != 0 {
		return err
	}
	l.config, l.taken, l.counted, l.waiting = l.asked, true, false, l.waiting[:0]
	if l.watch.Settings != nil {
		l.watch.Settings(l.now, &l.config)
	}
	return nil
}

func (l *lines) telemetry() {
	if !l.taken {
		return
	}
	now := l.clock.Extend(l.t.Ticks)
	if !l.begun {
		l.begun, l.zero = true, now
	}
	l.now = now - l.zero
	l.waiting = append(l.waiting, l.now)
	if l.watch.Pulse != nil {
		l.captured(now)
		l.played(now)
	}
	if l.watch.Frame != nil {
		l.watch.Frame(l.now)
	}
}

func (l *lines) captured(now int64) {
	line := Throttle
	if l.config.Options&protocol.OptionCaptureProbe != 0 {
		line = Probe
	}
	for _, p := range l.t.Pulses[:l.t.PulsesLen] {
		l.watch.Pulse(Pulse{Line: line, Start: tick.Before24(now, p.StartTicks) - l.zero, Width: int64(p.WidthTicks)})
	}
}

func (l *lines) played(now int64) {
	sent := int64(l.t.PickupCount - l.count)
	if l.counted && sent > 0 {
		l.watch.Pulse(Pulse{
			Line: Pickup, Start: tick.Before24(now, l.t.PickupTicks) - l.zero,
			Width: int64(l.config.PickupWidthTicks), Unseen: sent - 1,
		})
	}
	l.count, l.counted = l.t.PickupCount, true
}
