package firmwaretest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/emulator"
)

const (
	harnessDir  = "../../../../firmware-notes/emulator"
	firmwareDir = "../../../../firmware-notes/firmware"
)

// tickHz is the board's tick rate, millisecond and microsecond are in ticks.
const (
	tickHz      = emulator.TickHz
	millisecond = tickHz / 1000
	microsecond = tickHz / 1_000_000
)

// buildDir holds the firmwares built for these tests.
var buildDir string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "govrig-firmware-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	buildDir = dir
	code := m.Run()
	os.RemoveAll(dir)
	if err := goleak.Find(); code == 0 && err != nil {
		fmt.Fprintln(os.Stderr, err)
		code = 1
	}
	os.Exit(code)
}

var harness = sync.OnceValues(func() (string, error) { return emulator.Build(harnessDir) })

var (
	variantsMu sync.Mutex
	variants   = map[string]string{}
)

// firmware gives the path of the firmware built with definitions. Without any
// it is the committed one.
func firmware(t testing.TB, defs string) string {
	t.Helper()
	readSources(t)
	if defs == "" {
		return filepath.Join(firmwareDir, "firmware.hex")
	}
	variantsMu.Lock()
	defer variantsMu.Unlock()
	if path, ok := variants[defs]; ok {
		return path
	}
	build := filepath.Join(buildDir, fmt.Sprint(len(variants)))
	makeFirmware(t, "hex", "BUILD="+build, "DEFS="+defs)
	variants[defs] = filepath.Join(build, "firmware.hex")
	return variants[defs]
}

func makeFirmware(t testing.TB, arguments ...string) {
	t.Helper()
	out, err := exec.Command("make", append([]string{"-s", "-C", firmwareDir}, arguments...)...).CombinedOutput()
	require.NoError(t, err, "%s", out)
}

// readSources reads what other programs will read, so that go test knows that
// a cached result is out of date when it has changed.
func readSources(t testing.TB) {
	t.Helper()
	for _, pattern := range []string{"*.c", "*.h", "*.hex", "Makefile", "hosttest/*.c"} {
		names, err := filepath.Glob(filepath.Join(firmwareDir, pattern))
		require.NoError(t, err)
		for _, name := range names {
			_, err := os.ReadFile(name)
			require.NoError(t, err)
		}
	}
}

// edge is one change of an output line.
type edge struct {
	tick int64
	high bool
}

// bench is an emulated board that runs the firmware, what its lines have done,
// and the host's end of the wire.
type bench struct {
	*emulator.Board
	t       testing.TB
	edges   map[emulator.Pin][]edge
	decoder frame.Decoder
	queue   [][]byte
	drives  uint8
	more    protocol.Edges // that came with the newest Telemetry
	zero    int64          // the harness's tick at which the board's was 0; see find
}

// newBench switches on a board with the firmware built with defs, and waits
// until it listens.
func newBench(t testing.TB, defs string) *bench {
	t.Helper()
	return benchOf(t, firmware(t, defs))
}

func benchOf(t testing.TB, firmware string) *bench {
	t.Helper()
	path, err := harness()
	require.NoError(t, err)
	b := &bench{t: t, edges: map[emulator.Pin][]edge{}}
	b.Board, err = emulator.Open(emulator.Options{
		Harness:  path,
		Firmware: firmware,
		Watch: func(pin emulator.Pin, tick int64, high bool) {
			b.edges[pin] = append(b.edges[pin], edge{tick, high})
		},
	})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	b.run(100 * millisecond)
	return b
}

// run runs the board for a time. What it sends waits for next.
func (b *bench) run(ticks int64) {
	b.t.Helper()
	require.NoError(b.t, b.RunUntil(b.Now()+ticks))
}

// find finds zero: it has the board play one pulse at a tick of the board's.
func (b *bench) find() {
	b.t.Helper()
	b.configure(settings())
	m := b.telemetry()
	at := m.Ticks + 40_000
	b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: at, PeriodTicks: 1_000_000})
	for len(b.edges[emulator.PickupPin]) == 0 {
		b.telemetry()
	}
	b.zero = b.edges[emulator.PickupPin][0].tick - int64(at)
	b.configure(settings())
	b.edges = map[emulator.Pin][]edge{}
}

// board turns a tick of the harness into one of the board's.
func (b *bench) board(tick int64) int64 { return tick - b.zero }

// message is anything that can be sent.
type message interface{ AppendTo([]byte) []byte }

func (b *bench) send(m message) {
	b.t.Helper()
	b.sendBytes(frame.Append(nil, m.AppendTo(nil)))
}

func (b *bench) sendBytes(p []byte) {
	b.t.Helper()
	_, err := b.Write(p)
	require.NoError(b.t, err)
}

// next gives the next message from the board and leaves its time at the end of
// the frame.
func (b *bench) next() []byte {
	b.t.Helper()
	for len(b.queue) == 0 {
		require.NoError(b.t, b.fetch())
	}
	m := b.queue[0]
	b.queue = b.queue[1:]
	return m
}

// fetch reads what the board sends up to the end of a frame.
func (b *bench) fetch() error {
	var buf [512]byte
	n, err := b.Read(buf[:])
	if err != nil {
		return err
	}
	for _, c := range buf[:n] {
		if m, ok := b.decoder.Next(c); ok {
			b.queue = append(b.queue, append([]byte(nil), m...))
		}
	}
	require.Zero(b.t, b.decoder.Losses.Total(), "the board sent a damaged frame")
	return nil
}

// latest forgets what has been sent so far and leaves the next message to be
// taken.
func (b *bench) latest() {
	b.t.Helper()
	for now := b.Now(); b.Now() == now; {
		b.queue = nil
		require.NoError(b.t, b.fetch())
	}
}

// telemetry gives the next Telemetry, past Levels; more is the Edges before it.
func (b *bench) telemetry() (m protocol.Telemetry) {
	b.t.Helper()
	got := b.next()
	b.more = protocol.Edges{}
	for got[0] == protocol.LevelsID || got[0] == protocol.EdgesID {
		if got[0] == protocol.EdgesID {
			require.NoError(b.t, b.more.Parse(got))
		}
		got = b.next()
	}
	require.NoError(b.t, m.Parse(got))
	return m
}

func (b *bench) identity() protocol.Identity {
	b.t.Helper()
	b.send(&protocol.Identify{Protocol: protocol.Version})
	var m protocol.Identity
	require.NoError(b.t, m.Parse(b.next()))
	return m
}

// settings are what most tests configure.
func settings() protocol.Configure {
	return protocol.Configure{
		TelemetryTicks:   2 * millisecond,
		FailsafeTicks:    50 * millisecond,
		PickupWidthTicks: 150 * microsecond,
		ServoPeriodTicks: 20 * millisecond,
		SafeStickTicks:   1000 * microsecond,
	}
}

// configure starts a session and wants it accepted.
func (b *bench) configure(m protocol.Configure) {
	b.t.Helper()
	require.Zero(b.t, b.tryConfigure(m))
}

// tryConfigure gives the reason to refuse.
func (b *bench) tryConfigure(m protocol.Configure) uint8 {
	b.t.Helper()
	b.send(&m)
	var answer protocol.Configured
	for {
		got := b.next()
		if got[0] == protocol.TelemetryID || got[0] == protocol.EdgesID {
			continue
		}
		require.NoError(b.t, answer.Parse(got))
		require.Equal(b.t, m.Sequence, answer.Sequence)
		return answer.Refused
	}
}

// drive sends a Drive with the next sequence number.
func (b *bench) drive(m protocol.Drive) {
	b.t.Helper()
	b.drives++
	m.Sequence = b.drives
	b.send(&m)
}

// pulse is a pulse on a line, in the board's ticks.
type pulse struct{ start, width int64 }

// pulses gives the whole pulses of a line so far: high ones, or low ones.
func (b *bench) pulses(pin emulator.Pin, low bool) []pulse {
	var pulses []pulse
	edges := b.edges[pin]
	for i := 1; i < len(edges); i++ {
		if edges[i-1].high != low && edges[i].high == low {
			pulses = append(pulses, pulse{b.board(edges[i-1].tick), edges[i].tick - edges[i-1].tick})
		}
	}
	return pulses
}

// starts gives where pulses start.
func starts(pulses []pulse) []int64 {
	var at []int64
	for _, p := range pulses {
		at = append(at, p.start)
	}
	return at
}
