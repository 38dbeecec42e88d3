package badlink_test

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/internal/badlink"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/sim/machine"
)

// quick is the medium machine with a governor that spools up in a second.
func quick(t testing.TB) *machine.Machine {
	text, err := os.ReadFile("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "quick.yaml")
	short := string(text) + "\nstand_in: {spool_rate: 9000 rpm/s}\n"
	require.NoError(t, os.WriteFile(path, []byte(short), 0o644))
	m, err := machine.Load(path)
	require.NoError(t, err)
	return m
}

// trial is one run over a bad wire.
type trial struct {
	faults []badlink.Fault
	run    *execution.Run
	err    error
	wire   *badlink.Wire
	boards []*watched
}

func try(t testing.TB, m *machine.Machine, rng *rand.Rand, faults ...badlink.Fault) *trial {
	r := &trial{faults: faults}
	start := func() io.ReadWriteCloser {
		b := newWatched(t, m)
		r.boards = append(r.boards, b)
		return b
	}
	r.wire = badlink.New(start(), start, rng, faults...)
	r.run, r.err = (&hold.Options{Time: 5}).Run(context.Background(), &execution.Bench{Machine: m, Board: r.wire, Where: "virtual"})
	for _, b := range r.boards {
		b.alone(2)
	}
	return r
}

// wrong tells what is wrong with the outcome, given the healthy run; nothing
// when it is right.
func (r *trial) wrong(healthy *trial) string {
	for _, b := range r.boards {
		if len(b.unsafe) > 0 {
			return b.unsafe[0]
		}
	}
	result := &r.run.Result
	switch {
	case r.wire.Reads > 8*healthy.wire.Reads+3*5_000: // phases are played four times at most; a host may sleep thrice
		return fmt.Sprintf("%d reads: it went on as if for ever", r.wire.Reads)
	case r.err != nil && result.Outcome != measure.Error:
		return fmt.Sprintf("outcome %s with the error %v", result.Outcome, r.err)
	case result.Outcome == measure.Pass:
		return differs(result, &healthy.run.Result)
	case result.Outcome == measure.Error:
		return ""
	}
	return "the governor is blamed for the wire"
}

// differs tells which measure of a run that passed is not that of the healthy
// one. When it starts on the governor's frames differs, hence the tolerances.
func differs(got, want *measure.Result) string {
	for _, w := range want.Measures {
		g := got.Find(w.Name)
		if g == nil || (g.Value == nil) != (w.Value == nil) {
			return w.Name + " is taken in one run and not in the other"
		}
		if w.Value == nil {
			continue
		}
		tolerance, ok := map[string]float64{"rpm": 6, "%": 0.2, "ms": 0.2, "1": 0}[w.Unit]
		if !ok {
			tolerance = 0.05 * math.Abs(*w.Value)
		}
		switch w.Name {
		case "late_frames", "loop_delay", "loop_delay_spread":
			continue // they tell of the wire and judge nothing
		}
		if math.Abs(*g.Value-*w.Value) > tolerance {
			return fmt.Sprintf("%s is %g in place of %g, and the run passed", w.Name, *g.Value, *w.Value)
		}
	}
	return ""
}

// A thousand runs over wires that go wrong, each by its seed: no run hangs or
// panics, none that passes has a wrong measure, no governor is blamed for the
// wire, and whatever happens the board is safe within its failsafe time.
func TestFaultSeries(t *testing.T) {
	m := quick(t)
	healthy := try(t, m, rand.New(rand.NewPCG(0, 0)))
	require.NoError(t, healthy.err)
	require.Equal(t, measure.Pass, healthy.run.Result.Outcome)
	require.Empty(t, healthy.wrong(healthy))
	// Faults begin anywhere in a run, or a little after it.
	span := healthy.wire.Reads * 11 / 10

	var mu sync.Mutex
	outcomes := map[measure.Outcome]int{}
	each(seeds, func(seed int) {
		rng := rand.New(rand.NewPCG(uint64(seed), 7))
		r := try(t, m, rng, badlink.Random(rng, badlink.Kind(seed%int(badlink.Kinds)), span)...)
		mu.Lock()
		defer mu.Unlock()
		outcomes[r.run.Result.Outcome]++
		if text := r.wrong(healthy); text != "" {
			t.Errorf("seed %d, %+v: %s\n  error: %v", seed, r.faults, text, r.err)
		}
	})
	t.Logf("%d runs: %v", seeds, outcomes)
	for _, o := range []measure.Outcome{measure.Pass, measure.Error} {
		require.Greater(t, outcomes[o], seeds/100, "the series shows both ways of ending")
	}
}

// each calls f for 0 to n-1 on all processors.
func each(n int, f func(int)) {
	var all sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}
