package emulator

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/standin/governor"
)

const frameBytes = 25 // of testfirmware/load.c, with its end

func standIn(t testing.TB) *governor.Governor {
	const perRPM = 2 * math.Pi / 60
	g, err := governor.New(governor.Params{
		TickRate: TickHz, PulsesPerTurn: 1,
		ThrottleClosed: 1.1e-3, ThrottleOpen: 1.9e-3, FrameRate: 71, OutputStep: 2e-6,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 17_000 * perRPM, SpeedHigh: 18_000 * perRPM,
		ArmOn: 0.31, ArmOff: 0.27, ArmSpeed: 2_000 * perRPM, SpoolRate: 2_000 * perRPM,
		Gain: 0.002, IntegralTime: 0.8, LossTime: 0.3,
	}, 0)
	require.NoError(t, err)
	return g
}

// session answers every frame of the load firmware with 16 bytes.
func session(t testing.TB, b *bench, frames int, each func(frame []byte)) {
	frame := make([]byte, frameBytes)
	answer := make([]byte, 16)
	for i := range frames {
		_, err := io.ReadFull(b, frame)
		require.NoError(t, err)
		require.Zero(t, frame[frameBytes-1])
		each(frame)
		for k := range answer {
			answer[k] = frame[0] + byte(i*k)
		}
		_, err = b.Write(answer)
		require.NoError(t, err)
	}
}

// The governor on the pins sees every edge in order and before its frame, and
// the firmware times the very pulse that it makes.
func TestGovernorOnThePins(t *testing.T) {
	b := newBench(t, "load", Options{Governor: standIn(t)})
	var timed []int64
	pulses := byte(0)
	session(t, b, 1000, func(f []byte) {
		if f[0] != pulses|0x80 {
			require.Equal(t, (pulses+1)|0x80, f[0], "no pulse is lost")
			pulses = f[0] & 0x7F
			timed = append(timed, int64(f[1]&0x7F)|int64(f[2]&0x7F)<<7|int64(f[3]&0x7F)<<14)
		}
	})

	twin, made := standIn(t), []int64(nil)
	for _, e := range b.edges {
		for twin.NextFrame() < e.tick {
			_, width := twin.Frame()
			made = append(made, width)
		}
		if line, ok := e.pin.Line(); ok {
			twin.Edge(line, e.tick, e.high)
		}
	}
	require.Greater(t, len(timed), 130)
	require.Equal(t, made[:len(timed)], timed)
	require.NotEqual(t, timed[10], timed[100], "it governs")
}

// digest is a run's bytes, the ticks they came at, and its edges.
func digest(t *testing.T) [sha256.Size]byte {
	sum := sha256.New()
	b := newBench(t, "load", Options{Governor: standIn(t), HostDelayTicks: 777})
	session(t, b, 500, func(f []byte) {
		sum.Write(f)
		require.NoError(t, binary.Write(sum, binary.LittleEndian, b.Now()))
	})
	fmt.Fprint(sum, b.edges)
	s, err := b.Stats()
	require.NoError(t, err)
	fmt.Fprint(sum, s)
	require.Zero(t, s.Overruns)
	require.NotEmpty(t, b.edges)
	return [sha256.Size]byte(sum.Sum(nil))
}

func TestSameRunEveryTime(t *testing.T) {
	first := digest(t)
	require.Equal(t, first, digest(t))
	require.Equal(t, first, digest(t))
}

// Stopping more often changes nothing.
func TestStopsLeaveNoTrace(t *testing.T) {
	whole := newBench(t, "load", Options{})
	whole.run(TickHz / 4)
	parts := newBench(t, "load", Options{})
	for tick := int64(0); tick < TickHz/4; tick += 977 {
		parts.run(tick)
	}
	parts.run(TickHz / 4)
	require.Equal(t, whole.unread, parts.unread)
	require.Equal(t, whole.edges, parts.edges)
	a, err := whole.Stats()
	require.NoError(t, err)
	b, err := parts.Stats()
	require.NoError(t, err)
	require.Equal(t, a, b)
}

// A run ends on its very tick, in the midst of an instruction if need be: what
// that instruction does later is told later.
func TestRunEndsOnItsTick(t *testing.T) {
	b := newBench(t, "latency", Options{})
	for tick := int64(1); tick < 1500; tick++ {
		before := len(b.edges)
		b.run(tick)
		require.Equal(t, tick, b.Now())
		for _, e := range b.edges[before:] {
			require.Equal(t, tick, e.tick)
		}
	}
	require.Len(t, b.edges, 3, "the match and its answer on PB5")
}

func TestQuietBoard(t *testing.T) {
	b := newBench(t, "compare", Options{})
	_, err := b.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	require.EqualValues(t, TickHz, b.Now())
}

func TestClose(t *testing.T) {
	b := newBench(t, "load", Options{})
	b.run(100_000)
	process := b.harness.cmd
	require.NoError(t, b.Close())
	require.NotNil(t, process.ProcessState, "the process has been waited for")
	require.NoError(t, b.Close())
	_, err := b.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrClosed)
	_, err = b.Write([]byte{1})
	require.ErrorIs(t, err, os.ErrClosed)
	require.ErrorIs(t, b.RunUntil(200_000), os.ErrClosed)
	_, err = b.Stats()
	require.ErrorIs(t, err, os.ErrClosed)
}

func TestHarnessDies(t *testing.T) {
	b := newBench(t, "load", Options{})
	require.NoError(t, b.harness.cmd.Process.Kill())
	_, err := io.ReadAll(b)
	require.ErrorContains(t, err, "the harness is gone")
}

func TestOpenErrors(t *testing.T) {
	harness, err := built()
	require.NoError(t, err)
	_, err = Open(Options{Harness: harness, Firmware: "no-such.hex"})
	var told *HarnessError
	require.ErrorAs(t, err, &told)
	require.Contains(t, told.Text, "cannot read no-such.hex as an Intel hex")

	junk := filepath.Join(t.TempDir(), "junk.hex")
	require.NoError(t, os.WriteFile(junk, []byte("not a hex file\n"), 0o600))
	_, err = Open(Options{Harness: harness, Firmware: junk})
	require.ErrorAs(t, err, &told)

	_, err = Open(Options{Harness: "/no/such/harness", Firmware: junk})
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = Open(Options{Harness: "/bin/echo", Firmware: "GVEM or not, this is too long"})
	require.Error(t, err)
	_, err = Open(Options{Harness: harness, Firmware: junk, Baud: -1})
	require.ErrorContains(t, err, "cannot talk at -1 Bd")
}

func TestBuildNamesThePackage(t *testing.T) {
	err := need(MissingError{"make", "make"}, MissingError{"/usr/include/no-such-header.h", "libsimavr-dev"})
	var missing *MissingError
	require.ErrorAs(t, err, &missing)
	require.Equal(t, "/usr/include/no-such-header.h is missing: install it with apt-get install libsimavr-dev", err.Error())
	t.Setenv("PATH", t.TempDir())
	_, err = Build(harnessDir)
	require.ErrorAs(t, err, &missing)
	require.Equal(t, "make", missing.Package)
}

// BenchmarkRealTime tells how much faster than a real board the emulated one
// runs a session, on one core for the harness.
func BenchmarkRealTime(b *testing.B) {
	board := newBench(b, "load", Options{Governor: standIn(b)})
	b.ReportAllocs()
	start := board.Now()
	b.ResetTimer()
	for range b.N {
		session(b, board, 500, func([]byte) {})
		board.edges = board.edges[:0]
	}
	seconds := float64(board.Now()-start) / TickHz
	b.ReportMetric(seconds/b.Elapsed().Seconds(), "×real-time")
}
