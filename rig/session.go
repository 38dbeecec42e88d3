// Package rig joins a board and a simulated plant into a closed loop.
//
// A telemetry frame comes in, the plant is stepped up to that frame's tick, a
// drive goes out. The board's tick is the only clock: the same loop runs on a
// real board, on the emulated one and on the virtual one, and a recorded run
// gives the same drives again.
package rig

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"periph.io/x/conn/v3/physic"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/runlog"
	"govrig/rig/tick"
)

// Errors of a session.
var (
	// ErrSilent is a board that stopped sending.
	ErrSilent = errors.New("the board has fallen silent: it was unplugged, restarted, or lost its supply")
	// ErrFailsafe is a board that went to its safe state because the host was
	// silent for too long.
	ErrFailsafe = errors.New("the board went to its safe state because the host kept it waiting: " +
		"close other programs and try again")
)

// RefusedError is a board that did not take the settings.
type RefusedError struct{ Reason uint8 }

func (e *RefusedError) Error() string {
	what := map[uint8]string{
		protocol.RefusedTelemetry: "the telemetry period",
		protocol.RefusedFailsafe:  "the failsafe time",
		protocol.RefusedWidth:     "the pickup pulse width",
		protocol.RefusedServo:     "the servo frame or the safe stick width",
	}[e.Reason]
	if what == "" {
		what = fmt.Sprintf("a setting (reason %d)", e.Reason)
	}
	return "the board refused " + what + ": it is out of the board's range"
}

// Settings are what the board is configured with.
type Settings struct {
	// Baud is the speed of the wire; 0 is protocol.BaudFast.
	Baud int `json:",omitempty"`
	// Telemetry is the time from one frame to the next; 0 is what the wire's
	// speed allows: 2 ms, or 3 ms at half speed.
	Telemetry time.Duration
	// Failsafe is how long the board plays on without the host; 0 is 100 ms.
	Failsafe time.Duration
	// PickupWidth is the width of a pickup pulse; 0 is 500 µs.
	PickupWidth time.Duration
	// ServoFrame is the frame of the stick and select lines; 0 is 22 ms.
	ServoFrame time.Duration
	// SafeStick is the stick width of the safe state; 0 leaves the line low.
	SafeStick time.Duration
	// PickupLow plays low pulses on a high pickup line.
	PickupLow bool
	// Probe times the pickup probe in place of the throttle line.
	Probe bool
	// CaptureLow times low pulses on a high line.
	CaptureLow bool
}

func (s Settings) message(tickHz uint32) protocol.Configure {
	or := func(d, standard time.Duration) float64 {
		if d == 0 {
			d = standard
		}
		return math.Round(d.Seconds() * float64(tickHz))
	}
	m := protocol.Configure{
		TelemetryTicks:   uint32(or(s.Telemetry, TelemetryPeriod(s.Baud))),
		FailsafeTicks:    uint32(or(s.Failsafe, 100*time.Millisecond)),
		PickupWidthTicks: uint16(or(s.PickupWidth, 500*time.Microsecond)),
		ServoPeriodTicks: uint32(or(s.ServoFrame, 22*time.Millisecond)),
		SafeStickTicks:   uint16(or(s.SafeStick, 0)),
	}
	for option, on := range map[uint8]bool{
		protocol.OptionPickupLow:    s.PickupLow,
		protocol.OptionCaptureProbe: s.Probe,
		protocol.OptionCaptureLow:   s.CaptureLow,
	} {
		if on {
			m.Options |= option
		}
	}
	return m
}

// Session is a board that has been identified and configured.
type Session struct {
	// Identity is what the board said of itself.
	Identity protocol.Identity
	// Settings is what it took.
	Settings protocol.Configure
	// Clock, when set, tells the host's time: with it the board's clock error
	// is estimated. Boards that run in lockstep have none.
	Clock func() time.Duration
	// ClockError is that estimate.
	ClockError tick.ClockError

	tap        *runlog.Tap
	settings   Settings
	baud       int
	configured uint8
	clock      tick.Extender
	first      int64 // tick of the first frame that was answered
	driven     bool
	waiting    waiting
	heard      *ear
	reader     *frame.Reader
	writer     *frame.Writer
	buf        []byte
}

// Open identifies the board at the far end of conn and configures it. The
// session owns conn from then on; on an error conn is closed.
func Open(ctx context.Context, conn io.ReadWriteCloser, settings Settings) (*Session, error) {
	tap := runlog.NewTap(conn)
	heard := &ear{source: tap}
	s := &Session{tap: tap, heard: heard, reader: frame.NewReader(heard), writer: frame.NewWriter(tap), buf: make([]byte, 0, protocol.MaxPayload)}
	var err error
	if s.Identity, err = greet(ctx, heard, s.reader, s.writer, openTries); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	s.ClockError.Rate = physic.Frequency(s.Identity.TickHz) * physic.Hertz
	s.ClockError.Standing = Emulated(&s.Identity)
	if err := s.Configure(ctx, settings); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return s, nil
}

// Emulated reports whether a board says of itself that it is an emulated one,
// whose time may stand still for its host.
func Emulated(id *protocol.Identity) bool { return id.Marks&protocol.MarkEmulated != 0 }

// Configure sets the board up anew. It goes through its safe state; a loop does
// not outlive that.
func (s *Session) Configure(ctx context.Context, settings Settings) error {
	s.baud = settings.Baud
	if s.baud == 0 {
		s.baud = protocol.BaudFast
	}
	s.settings, s.Settings = settings, settings.message(s.Identity.TickHz)
	s.Settings.Sequence = s.configured
	s.configured++
	if err := s.send(&s.Settings); err != nil {
		return err
	}
	s.heard.ctx = ctx
	message, err := await(ctx, s.reader, protocol.ConfiguredID)
	if err != nil {
		return silent(err)
	}
	var answer protocol.Configured
	if err := answer.Parse(message); err != nil {
		return err
	}
	if answer.Sequence != s.Settings.Sequence {
		return errors.New("the board answered other settings than those sent")
	}
	if answer.Refused != 0 {
		return &RefusedError{Reason: answer.Refused}
	}
	return nil
}

// Again sets the board up as before, as after a failsafe.
func (s *Session) Again(ctx context.Context) error { return s.Configure(ctx, s.settings) }

// Baud is the speed of the wire.
func (s *Session) Baud() int { return s.baud }

type appender interface{ AppendTo([]byte) []byte }

func (s *Session) send(m appender) error {
	s.buf = m.AppendTo(s.buf[:0])
	return s.writer.Write(s.buf)
}

// Keep puts all that has passed between host and board, and all that will, into
// record; nil keeps none of it.
func (s *Session) Keep(record *runlog.Writer) { s.tap.Keep(record) }

// Run answers telemetry with drives until the loop's script is done, keeping
// what passes and the samples in record and showing each sample to each. It
// ends early, with ctx's error, when ctx is done. A record that cannot be
// written is no reason to end: see the record's own Err.
func (s *Session) Run(ctx context.Context, loop *Loop, record *runlog.Writer, each func(*runlog.Sample)) error {
	s.Keep(record)
	var telemetry protocol.Telemetry
	var drive protocol.Drive
	for !loop.Done() {
		message, err := s.read(ctx)
		if err != nil {
			return silent(err)
		}
		switch message[0] {
		case protocol.LevelsID:
			loop.told = loop.levels.Parse(message) == nil || loop.told
			continue
		case protocol.EdgesID:
			if loop.edges.Parse(message) != nil {
				loop.edges.EdgesLen = 0
			}
			continue
		case protocol.TelemetryID:
		default:
			continue
		}
		if err := telemetry.Parse(message); err != nil {
			return err
		}
		s.waiting.board(telemetry.Ticks, s.Identity.TickHz)
		if telemetry.Flags&protocol.TelemetryFailsafe != 0 {
			return s.waiting.failsafe()
		}
		s.follow(loop, telemetry.Ticks)
		if err := loop.Step(&telemetry, &drive); err != nil {
			return err
		}
		if err := s.send(&drive); err != nil {
			return silent(err)
		}
		s.timeFrame(loop.now)
		sample := loop.Sample()
		record.Sample(sample)
		each(sample)
	}
	return nil
}

// read waits for the next message, no longer than ctx lasts.
func (s *Session) read(ctx context.Context) ([]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.heard.ctx = ctx
	return s.reader.Read()
}

// follow keeps one clock over all loops of the session, so that the moments of
// a run go on from one to the next.
func (s *Session) follow(loop *Loop, ticks uint32) {
	now := s.clock.Extend(ticks)
	if !s.driven {
		s.first, s.driven = now, true
	}
	loop.begin(s.clock, s.first)
}

func (s *Session) timeFrame(now int64) {
	if s.Clock != nil {
		host := s.Clock()
		s.tap.HostTime(host)
		s.waiting.host(host)
		s.ClockError.Add(now, host)
	}
}

// Losses counts the frames from the board that were damaged on the way.
func (s *Session) Losses() frame.Losses { return s.reader.Losses }

// Close stops the board, waits for it to say that it is safe, and closes the
// connection. It is to be called however the run ended.
func (s *Session) Close() error {
	err := s.stop()
	return errors.Join(err, s.tap.Close())
}

func (s *Session) stop() error {
	for n := range 3 {
		if n > 0 {
			_ = s.writer.Hail() // a failure comes again with the next write
		}
		if err := s.send(&protocol.Stop{}); err != nil {
			return fmt.Errorf("the board could not be told to stop (its failsafe will): %w", err)
		}
		var telemetry protocol.Telemetry
		for range 20 {
			message, err := s.read(context.Background()) // whatever ended the run
			if errors.Is(err, os.ErrDeadlineExceeded) {
				break
			}
			if err != nil {
				return fmt.Errorf("the board did not say that it stopped (its failsafe will): %w", err)
			}
			if telemetry.Parse(message) == nil && telemetry.Flags&protocol.TelemetrySafe != 0 {
				return nil
			}
		}
	}
	return errors.New("the board did not say that it stopped: switch the governor off before touching anything")
}

// silent names a time-out for what it is.
func silent(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return ErrSilent
	}
	return err
}
