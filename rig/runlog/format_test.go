package runlog_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/procedure/hold"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// A reader in another language, written from FORMAT.md, reads the same.
func TestFormatIsAsDescribed(t *testing.T) {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	dir, cut := filepath.Join(t.TempDir(), "run"), filepath.Join(t.TempDir(), "cut") // as a killed program would leave it
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
	ctx, stop := context.WithCancel(context.Background())
	samples := 0
	b.Progress = func(string, *runlog.Sample) {
		switch samples++; samples {
		case 600:
			require.NoError(t, os.CopyFS(cut, os.DirFS(dir)))
		case 700:
			stop()
		}
	}
	_, err = (&hold.Options{Time: 1}).Run(ctx, b)
	require.ErrorIs(t, err, context.Canceled)
	rec, err := runlog.Open(dir)
	require.NoError(t, err)

	want := told(t, rec)
	require.Equal(t, 700, want.Samples)
	require.Equal(t, "stopped", want.Ended)
	require.Equal(t, want, readByPython(t, dir))

	for _, name := range []string{"wire.bin", "samples.bin"} {
		info, err := os.Stat(filepath.Join(cut, name))
		require.NoError(t, err)
		require.NoError(t, os.Truncate(filepath.Join(cut, name), info.Size()*2/3))
	}
	rec, err = runlog.Open(cut)
	require.NoError(t, err)
	want = told(t, rec)
	require.Equal(t, "cut off", want.Ended)
	require.Equal(t, want, readByPython(t, cut))
}

// content is what both readers tell of a record.
type content struct {
	Procedure, Ended           string
	Entries, Telemetry, Drives int
	Span                       uint32
	Samples                    int
	LastTick                   int64  `json:"last_tick"`
	LastPhase                  string `json:"last_phase"`
}

func readByPython(t *testing.T, dir string) (c content) {
	out, err := exec.Command("python3", "testdata/reader.py", dir).Output()
	require.NoError(t, err, "apt-get install python3")
	require.NoError(t, json.Unmarshal(out, &c))
	return c
}

func told(t *testing.T, rec *runlog.Record) content {
	c := content{Procedure: rec.Info.Procedure, Ended: rec.Reason()}
	var first, last protocol.Telemetry
	require.NoError(t, rec.Messages(func(m runlog.Message) bool {
		switch m.Bytes[0] {
		case protocol.TelemetryID:
			require.NoError(t, last.Parse(m.Bytes))
			if c.Telemetry++; c.Telemetry == 1 {
				first = last
			}
		case protocol.DriveID:
			c.Drives++
		}
		return true
	}))
	c.Span = last.Ticks - first.Ticks
	wire, err := rec.Wire()
	require.NoError(t, err)
	for ; err == nil; c.Entries++ {
		_, err = wire.Next()
	}
	c.Entries--
	require.NoError(t, wire.Close())
	phases, err := rec.Phases()
	require.NoError(t, err)
	require.NoError(t, rec.Samples(func(s *runlog.Sample) bool {
		c.Samples++
		c.LastTick, c.LastPhase = s.Ticks, phases[s.Phase].String()
		return true
	}))
	return c
}
