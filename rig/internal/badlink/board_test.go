package badlink_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// slackTicks is how long after a Drive left the host a board may take it for
// coming: the bytes' time on the wire, and the board's own.
const slackTicks = 16_000

// far is a board in lockstep: its time moves when it is read.
type far interface {
	io.ReadWriter
	SetBaud(int) error
	Now() int64
}

// watched is a board whose outputs are held against what it was told. Closing
// it from the host's side does not switch it off.
type watched struct {
	far
	slack    int64
	told     frame.Decoder
	settings protocol.Configure
	driven   int64 // when the host's last Drive was written; 0 before the first

	rise   map[governor.Line]int64
	pulses int      // pickup pulses begun
	unsafe []string // what it did that it must not
}

func newWatched(t testing.TB, m *machine.Machine) *watched {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	w := &watched{slack: slackTicks, rise: map[governor.Line]int64{}}
	w.far = board.New(board.Options{Governor: g, Watch: w.edge})
	return w
}

func (w *watched) Write(p []byte) (int, error) {
	for _, c := range p {
		if message, ok := w.told.Next(c); ok {
			w.hear(message)
		}
	}
	return w.far.Write(p)
}

func (w *watched) hear(message []byte) {
	var d protocol.Drive
	var c protocol.Configure
	switch {
	case d.Parse(message) == nil:
		w.driven = w.Now()
	case c.Parse(message) == nil:
		w.settings = c
	}
}

// Close leaves the board on, as pulling its wire does.
func (w *watched) Close() error { return nil }

// deadline is when the board must have become safe, had it heard nothing more.
func (w *watched) deadline() int64 { return w.driven + int64(w.settings.FailsafeTicks) + w.slack }

// edge judges what the board plays: no pickup pulse begins after its deadline,
// and no stick pulse but the safe one.
func (w *watched) edge(line governor.Line, tick int64, high bool) {
	if line == governor.Pickup {
		w.pickup(tick, high)
		return
	}
	if high {
		w.rise[line] = tick
		return
	}
	width := tick - w.rise[line]
	if line == governor.Stick && w.rise[line] > w.deadline() && width != int64(w.settings.SafeStickTicks) {
		w.unsafe = append(w.unsafe, "a stick pulse that is not the safe one")
	}
}

func (w *watched) pickup(tick int64, high bool) {
	if low := w.settings.Options&protocol.OptionPickupLow != 0; high == low {
		return // the pulse ends
	}
	w.pulses++
	if tick > w.deadline() {
		w.unsafe = append(w.unsafe, "a pickup pulse without a host")
	}
}

// alone lets the board run on for seconds with nobody at the other end.
func (w *watched) alone(seconds int64) {
	buf := make([]byte, 512)
	for end := w.Now() + seconds*board.TickHz; w.Now() < end; {
		_, _ = w.far.Read(buf)
	}
}

var _ io.ReadWriteCloser = (*watched)(nil)

func frameOf(message []byte) []byte { return frame.Append(nil, message) }
