package rig_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
)

// clone is a board whose crystal is slower than its firmware is made for, by a
// share: all that it does takes longer, and so it listens at a lower speed.
type clone struct {
	*board.Board
	rate float64
	deaf bool // the host is at another speed
}

func (c *clone) SetBaud(baud int) error {
	c.deaf = int(protocol.BaudFast*c.rate) != baud && c.rate < 0.9
	return nil
}

func (c *clone) Read(p []byte) (int, error) {
	if c.deaf {
		return 0, os.ErrDeadlineExceeded
	}
	return c.Board.Read(p)
}

func (c *clone) Write(p []byte) (int, error) {
	if c.deaf {
		return len(p), nil
	}
	return c.Board.Write(p)
}

// clock is the host's: the board's tick counts rate·16 MHz of it.
func (c *clone) clock() time.Duration {
	return time.Duration(float64(c.Now()) / (c.rate * board.TickHz) * 1e9)
}

// A clone with a crystal of 8 MHz answers at half the speed, as a wire does that
// has been slowed down; it is refused, whatever speed was asked for. So is one
// 3 % off; one 1.5 % off, at most a bad resonator, is not.
func TestWrongClockIsRefused(t *testing.T) {
	for rate, wrong := range map[float64]bool{0.5: true, 0.97: true, 1.03: true, 1.015: false, 0.985: false, 1: false} {
		for _, speeds := range [][]int{rig.Speeds[:], {protocol.BaudSlow}, {protocol.BaudFast}} {
			if rate == 0.5 && speeds[0] == protocol.BaudFast && len(speeds) == 1 {
				continue // nobody answers
			}
			c := &clone{Board: board.New(board.Options{}), rate: rate}
			_, err := rig.Connect(context.Background(), c, c.clock, speeds...)
			if !wrong {
				require.NoError(t, err, "%v at %v", rate, speeds)
				continue
			}
			var refused *rig.WrongClockError
			require.ErrorAs(t, err, &refused, "%v at %v", rate, speeds)
			require.InDelta(t, rate-1, refused.Fast, 0.002)
			if rate == 0.5 {
				require.ErrorContains(t, err, "-50.0 % off: it runs at 8.00 MHz, and its firmware is for 16 MHz")
			}
		}
	}
}

// Without a clock of the host's, as in lockstep, nothing is held against it.
func TestNoClockNoRefusal(t *testing.T) {
	c := &clone{Board: board.New(board.Options{}), rate: 0.97}
	_, err := rig.Connect(context.Background(), c, nil, rig.Speeds[:]...)
	require.NoError(t, err)
}

// An emulated board's time stands still for its host: that is said, and it is
// not refused.
func TestEmulatedBoardIsToldAndNotRefused(t *testing.T) {
	harness, err := emulator.Build("../firmware-notes/emulator")
	require.NoError(t, err)
	b, err := emulator.Open(emulator.Options{Harness: harness, Firmware: "../firmware-notes/firmware/firmware.hex"})
	require.NoError(t, err)
	defer b.Close()
	half := func() time.Duration { return time.Duration(float64(b.Now()) / (0.5 * emulator.TickHz) * 1e9) }
	c, err := rig.Connect(context.Background(), b, half, rig.Speeds[:]...)
	require.NoError(t, err)
	require.Len(t, c.Remarks(), 2)
	require.Contains(t, c.Remarks()[1], "emulated one: its time may stand still")
}

// How the wire answers is said at every speed, with a word on whether that will
// do; a plain board is not called emulated.
func TestWireIsTried(t *testing.T) {
	for delay, word := range map[time.Duration]string{
		0:                     "The wire answers in 1.0 ms, at most 1.0: good.",
		4 * time.Millisecond:  ": good.",
		10 * time.Millisecond: ": slow; ",
		30 * time.Millisecond: ": too slow; ",
	} {
		for _, speeds := range [][]int{rig.Speeds[:], {protocol.BaudFast}} {
			b := board.New(board.Options{HostDelayTicks: int64(delay.Seconds() * board.TickHz)})
			c, err := rig.Connect(context.Background(), b, nil, speeds...)
			require.NoError(t, err)
			require.Len(t, c.Remarks(), 1)
			require.Contains(t, c.Remarks()[0], word)
			require.GreaterOrEqual(t, c.Trial.Answer, delay)
			require.Less(t, c.Trial.Answer, delay+3*time.Millisecond)
			require.LessOrEqual(t, c.Trial.Answer, c.Trial.Longest)
		}
	}
}
