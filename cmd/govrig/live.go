package main

import (
	"context"
	"fmt"
	"time"

	"govrig/rig/execution"
	"govrig/rig/runlog"
	"govrig/rig/show/live"
	"govrig/sim/standin/board"
)

// patience is how long a browser has to take the end of a run.
const patience = 2 * time.Second

// watched opens the page that --live asks for. The context ends when its stop
// button is pressed; close closes it.
func (o *benchOptions) watched(ctx context.Context, io streams) (_ context.Context, close func(), err error) {
	if !o.live {
		return ctx, func() {}, nil
	}
	ctx, stop := context.WithCancel(ctx)
	o.page = live.New(stop)
	server, err := live.Serve(o.page, nil)
	if err != nil {
		stop()
		return ctx, nil, err
	}
	fmt.Fprintf(io.err, "Live page, on this computer only: %s\n", server.URL())
	return ctx, func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
		defer cancel()
		if err := server.Close(last); err != nil {
			fmt.Fprintln(io.err, err)
		}
		stop()
	}, nil
}

// show shows a bench on the page, if there is one. A virtual run is held to
// real time, so that there is something to see.
func (o *benchOptions) show(b *execution.Bench) {
	if o.page == nil {
		return
	}
	o.page.Watch(b)
	if o.virtual {
		b.Progress = paced(b.Progress, 1)
	}
}

// finished shows what came of a execution.
func (o *benchOptions) finished(r *execution.Run, err error) {
	if o.page != nil {
		o.page.Finished(r, err)
	}
}

// slack is how far a run may fall behind real time before real time begins
// anew: after a question, say.
const slack = 200 * time.Millisecond

// paced lets each sample wait for its moment, in a time so many times faster than
// the real one.
func paced(progress func(string, *runlog.Sample), faster float64) func(string, *runlog.Sample) {
	var start time.Time // of the run
	return func(phase string, s *runlog.Sample) {
		progress(phase, s)
		at := time.Duration(float64(s.Ticks) / board.TickHz / faster * float64(time.Second))
		early := time.Until(start.Add(at))
		if early < -slack {
			start = time.Now().Add(-at)
			return
		}
		time.Sleep(early)
	}
}
