package report

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// hour records an hour of holding a speed at 500 samples a second.
func hour(t testing.TB) *runlog.Record {
	const hz, frame = 16_000_000, 32_000
	m, err := machine.Load("../../testdata/machines/trainer-15cc.yaml")
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "hour")
	w, err := runlog.Create(dir, runlog.Info{
		Procedure: "hold", Speed: "hover", Virtual: true, Board: "virtual", Lockstep: true, TickHz: hz, StepTicks: 4_000,
		Machine: m.Name, MachineText: m.Text, Started: "2026-03-01T19:30:05.000Z",
	})
	require.NoError(t, err)
	w.Event(runlog.EventPhases, []rig.Phase{{Name: "steady", Steps: 8 * 1_790_000}, {Name: "light again", Steps: 8 * 10_000}})
	var s runlog.Sample
	for i := range int64(1_800_000) {
		s.Ticks = i * frame
		if i == 1_790_000 {
			s.Phase = 1
		}
		s.State.HeadSpeed = 155 + 0.2*math.Sin(float64(i)/40)
		s.State.EngineSpeed = s.State.HeadSpeed * m.Ratio()
		s.Throttle = 1.5e-3 + 2e-6*math.Round(30*math.Sin(float64(i)/55))
		w.Sample(&s)
		if i%1_000 == 0 { // as frames from the board would
			tap := runlog.NewTap(frames{})
			tap.Keep(w)
			_, _ = tap.Read(make([]byte, 64))
		}
	}
	sheet := measure.NewSheet("hold", true, measure.Declaration{Name: "steady_state_speed_band", Unit: "%", Limit: measure.AtMost(1.5)})
	sheet.Set("steady_state_speed_band", 0.3)
	result := sheet.Result()
	require.NoError(t, w.Close(runlog.End{Reason: runlog.Complete, Outcome: measure.Pass, Result: &result}))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	return rec
}

// frames is a port that gives the ends of frames and nothing else.
type frames struct{ io.WriteCloser }

func (frames) Read(p []byte) (int, error) {
	clear(p[:30])
	return 30, nil
}

// BenchmarkHour makes the page of an hour's record. heap_peak_MB is the most
// that was on the heap at any time.
func BenchmarkHour(b *testing.B) {
	rec := hour(b)
	info, err := os.Stat(filepath.Join(rec.Dir, "samples.csv"))
	require.NoError(b, err)
	b.SetBytes(info.Size())
	var peak atomic.Uint64
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		var m runtime.MemStats
		for {
			select {
			case <-stop:
				return
			default:
				runtime.ReadMemStats(&m)
				peak.Store(max(peak.Load(), m.HeapAlloc))
				runtime.Gosched()
			}
		}
	}()
	runtime.GC()
	b.ReportAllocs()
	for b.Loop() {
		d, err := NewDocument([]*runlog.Record{rec})
		require.NoError(b, err)
		d.Verdict = "not proven"
		require.NoError(b, d.HTML(io.Discard))
	}
	close(stop)
	<-done
	b.ReportMetric(float64(peak.Load())/1e6, "heap_peak_MB")
}
