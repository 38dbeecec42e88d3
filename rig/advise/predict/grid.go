package predict

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// grid is the work: each cell of each trial, in the order of the result.
type grid struct {
	trials       []*trial
	gains, times []float64
	seconds      float64  // that a cell lasts
	cells        [][]Cell // of each trial, the result

	next     atomic.Int64 // cell to be taken next
	done     int
	progress func(done, total int)
	report   sync.Mutex // over done and progress
}

func (g *grid) total() int { return len(g.trials) * len(g.gains) * len(g.times) }

// fill simulates every cell on so many goroutines, or as many as there are
// cores. The cells do not depend on their number. It ends early with ctx's
// error.
func (g *grid) fill(ctx context.Context, workers int) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var all sync.WaitGroup
	for range min(workers, g.total()) {
		all.Go(func() {
			if err := g.work(ctx); err != nil {
				stop(err)
			}
		})
	}
	all.Wait()
	return context.Cause(ctx)
}

// work takes cells until none is left.
func (g *grid) work(ctx context.Context) error {
	s := samples(g.seconds)
	for ctx.Err() == nil {
		i := int(g.next.Add(1)) - 1
		if i >= g.total() {
			return nil
		}
		each := len(g.gains) * len(g.times)
		k, n := i/each, i%each
		cell, err := g.trials[k].cell(s, g.gains[n%len(g.gains)], g.times[n/len(g.gains)])
		if err != nil {
			return err
		}
		g.cells[k][n] = cell
		g.tell()
	}
	return nil
}

func (g *grid) tell() {
	g.report.Lock()
	defer g.report.Unlock()
	g.done++
	g.progress(g.done, g.total())
}
