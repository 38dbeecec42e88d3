package report

import (
	"io"
	"math"
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
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
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

// BenchmarkHour makes the page, and the text, of an hour's record, of each kind
// that is drawn in another way: a stretch of it, all of it, and the curves of a
// sweep and a tuning. heap_peak_MB is the most that was on the heap at any time.
func BenchmarkHour(b *testing.B) {
	rec := hour(b)
	line := []float64{0.25, 1, 8}
	rec.End.Loops = []runlog.Loop{{Name: "light", Setting: "hover", Frequency: line, Gain: []float64{9, 0, -20}, Phase: []float64{-100, -110, -190}, Crossover: 1}}
	low, high := 70.0, 60.0
	rec.End.Gains = []runlog.GainPosition{{Position: 0, Gain: 220, Phase: &low}, {Position: 1, Gain: 440, Phase: &high}}
	html := func(d *Document) error { return d.HTML(io.Discard) }
	for _, kind := range []struct {
		name, procedure string
		make            func(*Document) error
	}{
		{"hold", "hold", html}, {"faults", "faults", html}, {"sweep", "sweep", html}, {"tune", "tune", html},
		{"text", "hold", func(d *Document) error { return d.Text(io.Discard) }},
	} {
		b.Run(kind.name, func(b *testing.B) {
			rec.Info.Procedure = kind.procedure
			peak := watchHeap()
			b.ReportAllocs()
			for b.Loop() {
				d, err := NewDocument([]*runlog.Record{rec})
				require.NoError(b, err)
				d.Verdict = "not proven"
				require.NoError(b, kind.make(d))
			}
			b.ReportMetric(peak(), "heap_peak_MB")
		})
	}
}

// watchHeap watches the heap until its function is called, which gives the most
// that was on it, MB.
func watchHeap() (peak func() float64) {
	var most atomic.Uint64
	stop, done := make(chan struct{}), make(chan struct{})
	runtime.GC()
	go func() {
		defer close(done)
		var m runtime.MemStats
		for {
			select {
			case <-stop:
				return
			default:
				runtime.ReadMemStats(&m)
				most.Store(max(most.Load(), m.HeapAlloc))
				runtime.Gosched()
			}
		}
	}()
	return func() float64 {
		close(stop)
		<-done
		return float64(most.Load()) / 1e6
	}
}
