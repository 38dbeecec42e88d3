package proceduretest

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol/frame"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// root is the top of the project's tree, where go.mod lies.
func root(t testing.TB) string {
	dir, err := os.Getwd()
	require.NoError(t, err)
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		require.NotEqual(t, dir, up, "no go.mod above the test")
		dir = up
	}
}

// Load loads a worked machine.
func Load(t testing.TB, name string) *machine.Machine {
	m, err := machine.Load(filepath.Join(root(t), "testdata", "machines", name+".yaml"))
	require.NoError(t, err)
	return m
}

// Machines are the worked machines.
var Machines = []string{"medium-15cc", "small-6cc", "large-23cc"}

// Medium is the first worked machine.
func Medium(t testing.TB) *machine.Machine { return Load(t, "medium-15cc") }

// Bench is a virtual bench; change may alter the stand-in governor.
func Bench(t testing.TB, m *machine.Machine, change func(*governor.Params)) *execution.Bench {
	p := m.GovernorParams(board.TickHz)
	if change != nil {
		change(&p)
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	return &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
}

func Value(t *testing.T, r *execution.Run, name string) float64 {
	m := r.Result.Find(name)
	require.NotNil(t, m, name)
	require.NotNil(t, m.Value, "%s: %v", name, m.Warnings)
	return *m.Value
}

// Recording keeps the record in dir.
func Recording(b *execution.Bench, dir string) {
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
}

// Tap shows each frame from the board to each.
type Tap struct {
	io.ReadWriteCloser
	d    frame.Decoder
	Each func([]byte)
}

func (t *Tap) Read(p []byte) (int, error) {
	n, err := t.ReadWriteCloser.Read(p)
	for _, c := range p[:n] {
		if m, ok := t.d.Next(c); ok {
			t.Each(m)
		}
	}
	return n, err
}

// MachineOf loads a worked machine, with a quirk of its stand-in governor.
func MachineOf(t testing.TB, file, quirk string) *machine.Machine {
	m := Load(t, file)
	m.StandIn.Quirk = machine.Quirk(quirk)
	return m
}

// Attended is a virtual bench on which the procedure can restart the stand-in.
func Attended(t testing.TB, m *machine.Machine) *execution.Bench { return Bench(t, m, nil) }

func Outcome(t testing.TB, r *execution.Run, name string) measure.Outcome {
	m := r.Result.Find(name)
	require.NotNil(t, m, name)
	return m.Outcome
}

// Words are all that a run says to the person.
func Words(r *execution.Run) string { return strings.Join(append(r.Found, r.Next...), "\n") }

// Spoilt is the medium machine with a text of its file replaced.
func Spoilt(t testing.TB, old, new string) *machine.Machine {
	text := Medium(t).Text
	require.Contains(t, text, old)
	m, err := machine.Parse("spoilt.yaml", []byte(strings.Replace(text, old, new, 1)))
	require.NoError(t, err)
	return m
}

// Quirky is the medium machine with a quirk of its stand-in governor.
func Quirky(t testing.TB, quirk machine.Quirk) *machine.Machine {
	m := Medium(t)
	m.StandIn.Quirk = quirk
	return m
}

// Failed are the measures that missed their limit.
func Failed(r *execution.Run) (names []string) {
	for _, m := range r.Result.Measures {
		if m.Outcome == measure.Fail {
			names = append(names, m.Name)
		}
	}
	return names
}

// seconds a procedure took by the board's clock.
func Lasted(r *execution.Run) float64 { return r.Trace.Time[len(r.Trace.Time)-1] }
