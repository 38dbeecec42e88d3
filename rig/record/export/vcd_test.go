package export

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/execution"
	"govrig/rig/procedure/hold"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// edge is one change of a line, to 0, 1 or x.
type edge struct {
	tick  int64
	level byte
}

func levelOf(high bool) byte {
	if high {
		return '1'
	}
	return '0'
}

// held makes the record of a short run of the machine in file on the virtual
// board, and gives the edges that the board made on its pickup line and the
// pulses that the governor made.
func held(t testing.TB, file string) (rec *runlog.Record, run *execution.Run, pickup, throttle []edge) {
	m, err := machine.Load("../../../testdata/machines/" + file)
	require.NoError(t, err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Where: "virtual", StandIn: g, Board: board.New(board.Options{
		Governor: g, Watch: func(line governor.Line, tick int64, high bool) {
			if line == governor.Pickup {
				pickup = append(pickup, edge{tick, levelOf(high)})
			}
		},
	})}
	dir := filepath.Join(t.TempDir(), "run")
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
	r, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
	require.NoError(t, err)
	for _, p := range r.Trace.Pulses {
		start, width := int64(p.Start*board.TickHz+0.5), int64(p.Width*board.TickHz+0.5)
		throttle = append(throttle, edge{start, '1'}, edge{start + width, '0'})
	}
	rec, err = runlog.Open(dir)
	require.NoError(t, err)
	return rec, r, pickup, throttle
}

// begun is the board's tick at the start of the run: that of the first
// telemetry frame after the board took its settings.
func begun(t testing.TB, rec *runlog.Record) (zero int64) {
	var frame protocol.Telemetry
	taken := false
	require.NoError(t, rec.Messages(func(m runlog.Message) bool {
		taken = taken || m.Bytes[0] == protocol.ConfiguredID
		return !taken || frame.Parse(m.Bytes) != nil
	}))
	require.Positive(t, frame.Ticks)
	return int64(frame.Ticks)
}

// perTick is how many of 100 ps a tick of 62.5 ns has.
const perTick = 625

// read reads the edges of a signal from a value change dump: a small reader of
// its own. Values at time 0 are left out.
func read(t testing.TB, vcd []byte, signal string) (edges []edge) {
	words := strings.Fields(string(vcd))
	id, at := "", int64(0)
	for i := 0; i < len(words); i++ {
		switch w := words[i]; {
		case w == "$timescale":
			require.Equal(t, "100ps", strings.Join(words[i+1:i+1+indexOf(words[i+1:], "$end")], ""))
		case w == "$var":
			if words[i+4] == signal {
				id = words[i+3]
			}
			i += indexOf(words[i:], "$end")
		case w == "$dumpvars":
			i += indexOf(words[i:], "$end")
		case w[0] == '#':
			n, err := strconv.ParseInt(w[1:], 10, 64)
			require.NoError(t, err)
			require.Zero(t, n%perTick, "an edge between two ticks")
			at = n / perTick
		case at > 0 && w[1:] == id && strings.Contains("01xX", w[:1]):
			edges = append(edges, edge{at, strings.ToLower(w)[0]})
		}
	}
	require.NotEmpty(t, id, signal)
	return edges
}

func indexOf(words []string, word string) int {
	for i, w := range words {
		if w == word {
			return i
		}
	}
	return len(words)
}

// convert sends a value change dump through gtkwave's converters: into its own
// form and back.
func convert(t testing.TB, vcd []byte) []byte {
	dir := t.TempDir()
	in, fst := filepath.Join(dir, "in.vcd"), filepath.Join(dir, "out.fst")
	require.NoError(t, os.WriteFile(in, vcd, 0o644))
	out, err := exec.Command("vcd2fst", in, fst).CombinedOutput()
	require.NoError(t, err, "%s (apt-get install gtkwave)", out)
	back, err := exec.Command("fst2vcd", fst).Output()
	require.NoError(t, err)
	return back
}

// The edges of a run on the virtual board, exported and read by gtkwave's
// converter, stand at the ticks at which the board made them: pickup lines that
// rest low and high.
func TestVCDHasTheBoardsEdges(t *testing.T) {
	for _, file := range []string{"medium-15cc.yaml", "small-6cc.yaml", "large-23cc.yaml"} {
		rec, _, pickup, throttle := held(t, file)
		var vcd bytes.Buffer
		require.NoError(t, VCD(&vcd, rec))
		require.True(t, strings.HasPrefix(vcd.String(), "$comment VIRTUAL"), "first line")
		back := convert(t, vcd.Bytes())

		got := read(t, back, "pickup")
		require.Greater(t, len(got), 2_000, file)
		zero := begun(t, rec)
		i := 0
		for k, e := range got[:len(got)-1] { // the last may be the end of a pulse that was cut off
			if e.level == 'x' {
				require.Equal(t, pickup[i-1].tick+1, e.tick+zero, "unknown from the end of a pulse on")
				continue
			}
			for k > 0 && got[k-1].level == 'x' && pickup[i].tick < e.tick+zero {
				i++
			}
			require.Equal(t, pickup[i], edge{e.tick + zero, e.level}, "edge %d", k)
			i++
		}
		require.LessOrEqual(t, len(pickup)-i, 4, "the last pulses may come after the last frame")

		got = read(t, back, "throttle")
		require.Greater(t, len(got), 1_000)
		require.Equal(t, throttle[:len(throttle)-2], got[:len(throttle)-2])
	}
}

// sigrok-cli reads the same edges. It samples at every tick, which is told to
// it as one in 625 time units; so it is given the first second only.
func TestVCDThroughSigrok(t *testing.T) {
	rec, _, pickup, _ := held(t, "medium-15cc.yaml")
	var vcd bytes.Buffer
	require.NoError(t, VCD(&vcd, rec))
	const edges = 100
	own := read(t, vcd.Bytes(), "pickup")
	short := vcd.Bytes()[:bytes.Index(vcd.Bytes(), fmt.Appendf(nil, "#%d", own[edges].tick*perTick))]
	path := filepath.Join(t.TempDir(), "short.vcd")
	require.NoError(t, os.WriteFile(path, short, 0o644))
	out, err := exec.Command("sigrok-cli", "-I", "vcd:downsample=625", "-i", path, "-C", "pickup", "-O", "vcd").Output()
	require.NoError(t, err, "apt-get install sigrok-cli")
	got := read(t, out[bytes.Index(out, []byte("$date")):], "pickup")
	require.GreaterOrEqual(t, len(got), edges-1)
	zero := begun(t, rec)
	for i, e := range got[:edges-1] {
		require.Equal(t, pickup[i], edge{e.tick + zero, e.level}, "edge %d", i)
	}
}

// played makes a record of telemetry frames, 2 ms apart, from a board whose
// settings are given.
func played(t testing.TB, c protocol.Configure, frames ...protocol.Telemetry) *runlog.Record {
	dir := filepath.Join(t.TempDir(), "run")
	w, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz, Lockstep: true})
	require.NoError(t, err)
	var line script
	tap := runlog.NewTap(&line)
	tap.Keep(w)
	in := make([]byte, 512)
	hear := func(m interface{ AppendTo([]byte) []byte }) {
		line.next = frame.Append(nil, m.AppendTo(nil))
		_, err := tap.Read(in)
		require.NoError(t, err)
	}
	say := func(m interface{ AppendTo([]byte) []byte }) {
		_, err := tap.Write(frame.Append(nil, m.AppendTo(nil)))
		require.NoError(t, err)
	}
	say(&c)
	hear(&protocol.Configured{})
	for i, f := range frames {
		f.Ticks = uint32(1_000_000 + 32_000*i)
		hear(&f)
		say(&protocol.Drive{StickTicks: 24_000})
	}
	require.NoError(t, w.Close(runlog.End{Reason: runlog.Complete}))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	return rec
}

// script is a port that gives what it is told to.
type script struct{ next []byte }

func (s *script) Read(b []byte) (int, error)  { return copy(b, s.next), nil }
func (s *script) Write(b []byte) (int, error) { return len(b), nil }
func (s *script) Close() error                { return nil }

// A pulse longer than its spacing ends where the board has to let the line
// rest; pulses that were not seen make the line unknown; a line that was high
// at the start is high there.
func TestVCDOfCrowdedPulses(t *testing.T) {
	rec := played(t, protocol.Configure{PickupWidthTicks: 10_000, Options: protocol.OptionCaptureLow},
		protocol.Telemetry{PulsesLen: 1, Pulses: [protocol.MaxPulses]protocol.Pulse{{StartTicks: 999_000, WidthTicks: 5_000}}},
		protocol.Telemetry{PickupCount: 1, PickupTicks: 1_020_000},
		protocol.Telemetry{PickupCount: 2, PickupTicks: 1_029_000}, // 9 000 later
		protocol.Telemetry{PickupCount: 5, PickupTicks: 1_090_000},
	)
	var vcd bytes.Buffer
	require.NoError(t, VCD(&vcd, rec))
	require.Equal(t, `#0
$dumpvars
x!
x"
x%
r0 &
r0 '
$end
0!
0"
r1500 &
#2500000
1"
#12500000
1!
#17125000
0!
#18125000
1!
#24375000
0!
#24375625
x!
#56250000
1!
#62500000
0!
`, vcd.String()[strings.Index(vcd.String(), "#0"):])
	require.Contains(t, vcd.String(), "$comment On the bench")
}

// The units of IEEE 1364: 1, 10 or 100 of s to fs.
func TestTimescale(t *testing.T) {
	for hz, want := range map[int64]string{
		16_000_000: "100 ps 625", 20_000_000: "10 ns 5", 1_000_000: "1 us 1", 1: "1 s 1", 500: "1 ms 2", 32_768: "1 fs 30517578125",
	} {
		unit, n, err := timescale(hz)
		require.NoError(t, err)
		require.Equal(t, want, fmt.Sprint(unit, " ", n))
	}
	_, _, err := timescale(3_000_000)
	require.ErrorContains(t, err, "no whole number of femtoseconds")
}
