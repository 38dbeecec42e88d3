package rig

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"govrig/protocol"
	"govrig/rig/tick"
)

// trialFrames are exchanged in a trial: half a second at full speed, 10 kB. Where
// that does not show whether the board's clock is right, it is up to trialMost.
const trialFrames, trialMost = 250, 4 * trialFrames

// Trial is what a short test of the wire gave.
type Trial struct {
	// Baud is the speed at which it was made; 0 when there was none.
	Baud int
	// Frames is how many telemetry frames came.
	Frames int64
	// Lost is how many messages were damaged or lost, either way.
	Lost int64
	// Answer is the mean time from a telemetry moment to the moment its drive was
	// applied, and Longest the longest; both 0 when none was applied.
	Answer, Longest time.Duration
	// Err is why it did not come to its end.
	Err error
}

// Clean reports whether nothing was lost.
func (t *Trial) Clean() bool { return t.Lost == 0 && t.Err == nil }

func (t *Trial) String() string {
	if t.Err != nil && t.Lost == 0 {
		return fmt.Sprintf("at %d baud the board could not be talked to (%v)", t.Baud, t.Err)
	}
	return fmt.Sprintf("at %d baud %d of %d messages were damaged or lost", t.Baud, t.Lost, 2*t.Frames)
}

// Up to normalAnswer a wire is as the usual USB chips have it, up to slowAnswer
// it is one whose driver holds bytes back.
const normalAnswer, slowAnswer = 6 * time.Millisecond, 20 * time.Millisecond

// Sentence says how fast the wire answers, and whether that is good; empty where
// it was not tried.
func (t *Trial) Sentence() string {
	if t.Baud == 0 || t.Err != nil {
		return ""
	}
	ms := func(d time.Duration) float64 { return d.Seconds() * 1e3 }
	const timer = "set the latency timer of its USB chip to 1 ms, or plug the board in without a hub"
	switch {
	case t.Longest == 0:
		return "No answer to the board came through on the wire."
	case t.Answer <= normalAnswer:
		return fmt.Sprintf("The wire answers in %.1f ms, at most %.1f: good.", ms(t.Answer), ms(t.Longest))
	case t.Answer <= slowAnswer:
		return fmt.Sprintf("The wire answers in %.1f ms, at most %.1f: slow; %s.", ms(t.Answer), ms(t.Longest), timer)
	}
	return fmt.Sprintf("The wire answers in %.1f ms, at most %.1f: too slow; %s.", ms(t.Answer), ms(t.Longest), timer)
}

// WrongClockError is a board whose clock is further off than any board's of the
// right kind is.
type WrongClockError struct {
	// Fast is the share by which it is fast.
	Fast float64
	// TickHz is what its firmware takes its clock for.
	TickHz uint32
}

func (e *WrongClockError) Error() string {
	mhz := float64(e.TickHz) / 1e6
	return fmt.Sprintf("the board's clock is %+.1f %% off: it runs at %.2f MHz, and its firmware is for %g MHz. "+
		"Every speed and every pulse would be as wrong, so it is not used: take a board with a clock of %g MHz "+
		"(those of 8 MHz are made for 3.3 V)", 100*e.Fast, mhz*(1+e.Fast), mhz, mhz)
}

// Try tries how well the wire carries messages at its present speed, and holds the
// board's clock against the host's, where there is one: an error that is a
// *WrongClockError is of that. Meanwhile the board plays nothing on any line; at
// the end it is told to stop.
func Try(ctx context.Context, conn io.ReadWriter, clock func() time.Duration, baud int) Trial {
	t := Trial{Baud: baud}
	s, err := Open(ctx, kept{conn}, Settings{Baud: baud, Failsafe: time.Second})
	if err != nil {
		t.Err = err
		return t
	}
	s.Clock = clock
	t.Err = t.exchange(ctx, s)
	t.Lost += int64(s.Losses().Total())
	t.Err = errors.Join(t.Err, s.stop())
	if t.Err == nil {
		t.Err = s.wrongClock()
	}
	return t
}

// kept is a connection that stays open.
type kept struct{ io.ReadWriter }

func (kept) Close() error { return nil }

// exchange answers telemetry with drives that play nothing.
func (t *Trial) exchange(ctx context.Context, s *Session) error {
	var m protocol.Telemetry
	var h Health
	var a answers
	for h.Frames < trialFrames || h.Frames < trialMost && s.undecided() {
		message, err := s.read(ctx)
		if err != nil {
			return silent(err)
		}
		if m.Parse(message) != nil {
			continue
		}
		now := s.clock.Extend(m.Ticks)
		a.frame(&m, now, uint8(h.Frames), &h)
		if err := s.send(&protocol.Drive{Sequence: uint8(h.Frames)}); err != nil {
			return err
		}
		s.timeFrame(now)
	}
	t.Frames, t.Lost = h.Frames, h.Lost()
	t.Answer, t.Longest = s.time(h.LoopDelay()), s.time(float64(h.DelayMax))
	return nil
}

// time is that of so many ticks.
func (s *Session) time(ticks float64) time.Duration {
	return time.Duration(ticks / float64(s.Identity.TickHz) * float64(time.Second))
}

// undecided reports whether more frames could show that the clock is right.
func (s *Session) undecided() bool {
	if s.Clock == nil || Emulated(&s.Identity) {
		return false
	}
	low, high, seen := s.ClockError.Bounds()
	return !seen || !tick.Right(low, high) && !tick.Wrong(low, high)
}

// wrongClock gives a *WrongClockError when the board's clock is one. An emulated
// board's may stand still and is not asked.
func (s *Session) wrongClock() error {
	if s.Clock == nil || Emulated(&s.Identity) {
		return nil
	}
	if low, high, seen := s.ClockError.Bounds(); seen && tick.Wrong(low, high) {
		return &WrongClockError{Fast: (low + high) / 2, TickHz: s.Identity.TickHz}
	}
	return nil
}
