package firmwaretest

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/emulator"
)

const secondDir = "secondopinion"

// fetchSecond brings avr8js to where node finds it.
var fetchSecond = sync.OnceValue(func() error {
	if _, err := os.Stat(filepath.Join(secondDir, "node_modules", "avr8js", "package.json")); err == nil {
		return nil
	}
	fetch := exec.Command("npm", "ci", "--silent")
	fetch.Dir = secondDir
	if out, err := fetch.CombinedOutput(); err != nil {
		return fmt.Errorf("npm ci (Debian: apt-get install nodejs npm): %w\n%s", err, out)
	}
	return nil
})

// second is a board that runs the firmware in avr8js; see secondopinion/board.js.
type second struct {
	t       testing.TB
	in      io.Writer
	out     *bufio.Reader
	now     int64
	resets  int
	edges   map[emulator.Pin][]edge
	decoder frame.Decoder
	queue   []sent
	drives  uint8
}

// sent is a message from the board, and when its frame had left.
type sent struct {
	message []byte
	at      int64
}

// newSecond switches a board on and waits until it listens.
func newSecond(t testing.TB, defs string) *second {
	t.Helper()
	require.NoError(t, fetchSecond())
	for _, name := range []string{"board.js", "package-lock.json"} {
		_, err := os.ReadFile(filepath.Join(secondDir, name)) // go test is to know that it was read
		require.NoError(t, err)
	}
	node := exec.Command("node", filepath.Join(secondDir, "board.js"), firmware(t, defs))
	node.Stderr = os.Stderr
	in, err := node.StdinPipe()
	require.NoError(t, err)
	out, err := node.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, node.Start())
	t.Cleanup(func() {
		require.NoError(t, in.Close())
		require.NoError(t, node.Wait())
	})
	s := &second{t: t, in: in, out: bufio.NewReader(out), edges: map[emulator.Pin][]edge{}}
	s.run(100 * millisecond)
	return s
}

// run runs the board for a time.
func (s *second) run(ticks int64) {
	s.t.Helper()
	s.order("run %d", s.now+ticks)
	s.hear()
}

// order sends a line to the board's process.
func (s *second) order(format string, arguments ...any) {
	s.t.Helper()
	_, err := fmt.Fprintf(s.in, format+"\n", arguments...)
	require.NoError(s.t, err)
}

// hear takes in what happened in a run.
func (s *second) hear() {
	s.t.Helper()
	for {
		line, err := s.out.ReadString('\n')
		require.NoError(s.t, err, "the board's process ended: %s", line)
		var what string
		var at int64
		var a, b byte
		_, _ = fmt.Sscan(line, &what, &at, &a, &b) // the last two are not always there
		switch what {
		case "pin":
			pin := emulator.Pin{Port: 'B', Bit: a}
			s.edges[pin] = append(s.edges[pin], edge{at, b == 1})
		case "byte":
			if m, ok := s.decoder.Next(a); ok {
				s.queue = append(s.queue, sent{append([]byte(nil), m...), at})
			}
		case "reset":
			s.resets++
		case "at":
			s.now = at
			return
		default:
			require.Fail(s.t, "the board's process says", line)
		}
	}
}

// next gives the next message, and leaves its time at the end of its frame.
func (s *second) next() []byte {
	s.t.Helper()
	for end := s.now + 1_000*millisecond; len(s.queue) == 0; {
		require.Less(s.t, s.now, end, "the board is silent")
		s.order("frame %d", end)
		s.hear()
	}
	m := s.queue[0]
	s.queue = s.queue[1:]
	require.Zero(s.t, s.decoder.Losses.Total(), "the board sent a damaged frame")
	return m.message
}

// telemetry gives the next Telemetry, past Levels.
func (s *second) telemetry() (m protocol.Telemetry) {
	s.t.Helper()
	got := s.next()
	for got[0] == protocol.LevelsID {
		got = s.next()
	}
	require.NoError(s.t, m.Parse(got))
	return m
}

func (s *second) send(m message) {
	s.t.Helper()
	s.order("send %x", frame.Append(nil, m.AppendTo(nil)))
}

// drive sends a Drive with the next sequence number.
func (s *second) drive(m protocol.Drive) {
	s.t.Helper()
	s.drives++
	m.Sequence = s.drives
	s.send(&m)
}

func (s *second) configure(c protocol.Configure) {
	s.t.Helper()
	s.send(&c)
	var answer protocol.Configured
	require.NoError(s.t, answer.Parse(s.next()))
	require.Zero(s.t, answer.Refused)
}

func (s *second) identity() (id protocol.Identity) {
	s.t.Helper()
	s.send(&protocol.Identify{Protocol: protocol.Version})
	require.NoError(s.t, id.Parse(s.next()))
	return id
}
