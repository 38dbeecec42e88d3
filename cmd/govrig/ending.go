package main

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// Reasons for which the program ends before its time. Ctrl-C needs none.
var (
	errAsked    = errors.New("the system asked the program to end") // also a console window that is closed on Windows
	errTerminal = errors.New("the terminal was closed")
	errOutput   = errors.New("nobody reads the output any more")
)

// untilEnded gives a context that ends, with its reason as the cause, when the
// person or the system asks the program to end, and the standard streams, which
// end it once nobody is there to read them. stop lets it go.
func untilEnded() (ctx context.Context, io streams, stop func()) {
	ctx, end := context.WithCancelCause(context.Background())
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	if !signal.Ignored(syscall.SIGHUP) { // else it was started so that it outlives its terminal
		signal.Notify(signals, syscall.SIGHUP)
	}
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE) // a write fails in place of the program's end
	go func() {
		select {
		case s := <-signals:
			end(map[os.Signal]error{syscall.SIGTERM: errAsked, syscall.SIGHUP: errTerminal}[s])
		case <-ctx.Done():
		}
	}()
	lost := func() { end(errOutput) }
	go watchReader(ctx, os.Stdout, lost)
	return ctx, streams{in: os.Stdin, out: &readBy{os.Stdout, lost}, err: &readBy{os.Stderr, lost}}, func() {
		signal.Stop(signals)
		end(nil)
	}
}

// readBy is a stream to somebody; lost is told when nobody reads it any more.
type readBy struct {
	to   io.Writer
	lost func()
}

func (r *readBy) Write(p []byte) (int, error) {
	n, err := r.to.Write(p)
	if isClosed(err) {
		r.lost()
	}
	return n, err
}

// lastWords is how long a command may take to end: one with a board has it to
// stop and a record to close; any other holds nothing that could not be left.
func lastWords(args []string) time.Duration {
	c, _, err := newRoot(streams{}).Find(args)
	if err == nil && (c.Flags().Lookup("port") != nil || c.Name() == "emulate") {
		return 4 * time.Second // Windows gives five after its console is closed
	}
	return 900 * time.Millisecond
}

// process runs one command to its end and gives its exit code.
func process(args []string) int {
	ctx, io, stop := untilEnded()
	defer stop()
	code := make(chan int, 1)
	go func() { code <- run(ctx, args, io) }()
	select {
	case c := <-code:
		return c
	case <-ctx.Done():
	}
	select {
	case c := <-code:
		return c
	case <-time.After(lastWords(args)):
		return exitStopped
	}
}
