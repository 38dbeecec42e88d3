package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"govrig/rig/execution"
	"govrig/rig/procedure/byhand"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// untouched is how long no key may be pressed before the board goes safe.
const untouched = 5 * time.Minute

func newManualCommand(io streams) *cobra.Command {
	var o benchOptions
	p := &byhand.Procedure
	c := &cobra.Command{
		Use: p.Name + " MACHINE", Short: p.Short, Args: cobra.ExactArgs(1),
		Long:    p.Long + "\n\nAt a terminal single keys do it; else orders are read line by line, and wait 2s between two of them waits:\n" + byhand.Words,
		Example: "  govrig " + strings.Join(p.Examples, "\n  govrig "),
		RunE: func(c *cobra.Command, args []string) error {
			return byHand(c.Context(), io, args[0], &o)
		},
	}
	o.flags(c)
	for _, not := range []string{"live", "json", "answer"} {
		_ = c.Flags().MarkHidden(not) // only fails where there is no such flag
	}
	return c
}

// byHand opens the bench with a person's hands on it.
func byHand(ctx context.Context, io streams, path string, o *benchOptions) error {
	m, err := load(io, path)
	if err != nil {
		return err
	}
	if err := o.recordsReady(); err != nil {
		return err
	}
	o.lines = newLines(io.in)
	byhand.Procedure.Briefing.Write(io.err, o.virtual)
	if !o.virtual {
		if err := o.confirm(ctx, io); err != nil {
			return err
		}
	}
	options := byhand.Procedure.New()
	bench, err := o.bench(ctx, io, &byhand.Procedure, options, m)
	if err != nil {
		return err
	}
	hold := byhand.NewHold(untouched, time.After)
	ctx, letGo := context.WithCancel(ctx)
	defer letGo()
	restore, err := hands(ctx, &io, o.lines, hold)
	if err != nil {
		return errors.Join(err, bench.Board.Close())
	}
	defer restore()
	if err := show(bench, m, io.err, o.virtual); err != nil {
		return errors.Join(err, bench.Board.Close())
	}
	bench.Ask = hold.Ask
	r, err := options.Run(ctx, bench)
	restore()
	return released(io, r, err)
}

// released says how it ended.
func released(io streams, r *execution.Run, err error) error {
	if r != nil && r.Dir != "" {
		fmt.Fprintf(io.err, "The record of it: %s\n", r.Dir)
	}
	switch {
	case errors.Is(err, byhand.ErrLetGo):
		return &exitError{code: exitStopped, err: err}
	case err != nil:
		return ended(r, err)
	}
	fmt.Fprintln(io.err, "The board has been told to play nothing.")
	return nil
}

// show has the bench show what there is to see, a line when it has changed. A virtual
// one goes on in real time while keys are waited for.
func show(b *execution.Bench, m *machine.Machine, w io.Writer, virtual bool) error {
	eye, err := byhand.NewEye(m)
	if err != nil {
		return err
	}
	b.Say = func(sentence string) { fmt.Fprintln(w, sentence) }
	last, told := "", int64(0)
	b.Progress = func(_ string, s *runlog.Sample) {
		line := seenLine(eye.See(s))
		if line != last && s.Ticks-told >= shownEvery {
			last, told = line, s.Ticks
			fmt.Fprintln(w, line)
		}
	}
	if virtual {
		b.GoesOn, b.Progress = true, paced(b.Progress, 1)
	}
	return nil
}

// shownEvery is the time between two lines, in ticks.
const shownEvery = 16_000_000 / 4

// seenLine is a line of fixed places.
func seenLine(s byhand.Seen) string {
	sel, head := "", ""
	if s.Select > 0 {
		sel = fmt.Sprintf("  select %4.0f µs", s.Select)
	}
	if s.Head > 0 {
		head = fmt.Sprintf("  head %4.0f rpm", s.Head)
	}
	return fmt.Sprintf("stick %4.0f µs%s  pickup %5.0f rpm %4.0f/s%s  |  throttle %4.0f µs  travel %4.0f %%  barrel %3.0f %%",
		s.Stick, sel, s.Engine, s.Pulses, head, s.Throttle, noMinus(s.Travel), s.Barrel)
}

// noMinus is a number in whole, never −0.
func noMinus(x float64) float64 { return math.Round(x) + 0 }

// hands lets keys, or lines where the input is no terminal, order through the hold.
// restore gives the terminal back.
func hands(ctx context.Context, io *streams, typed *lines, hold *byhand.Hold) (restore func(), err error) {
	f, ok := io.in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		go ordered(ctx, typed, hold)
		return func() {}, nil
	}
	fmt.Fprint(io.err, keysHelp)
	before, err := term.MakeRaw(int(f.Fd()))
	if err != nil {
		return nil, fmt.Errorf("the terminal cannot be read key by key (%w); give orders line by line, through a pipe", err)
	}
	io.err = &returned{io.err}
	go func() {
		defer hold.LetGo()
		press(typed.reader, func(text string) { hold.Order(ctx, text) })
	}()
	return func() { _ = term.Restore(int(f.Fd()), before) }, nil // nothing is left to do where it fails
}

// ordered gives the orders of lines, one after the other, until there are no more; a
// line such as "wait 2s" has the next ones wait.
func ordered(ctx context.Context, typed *lines, hold *byhand.Hold) {
	defer hold.LetGo()
	for {
		text, err := typed.next(ctx)
		text = strings.TrimSpace(text)
		if wait, ok := strings.CutPrefix(text, "wait "); ok {
			d, _ := time.ParseDuration(strings.ReplaceAll(wait, " ", "")) // what is none is no time
			select {
			case <-time.After(d):
			case <-ctx.Done():
			}
		} else if text != "" {
			hold.Order(ctx, text)
		}
		if err != nil {
			return
		}
	}
}

// returned is a terminal that is read key by key: it wants the carriage returned.
type returned struct{ to io.Writer }

func (r *returned) Write(p []byte) (int, error) {
	if _, err := io.WriteString(r.to, strings.ReplaceAll(string(p), "\n", "\r\n")); err != nil {
		return 0, err
	}
	return len(p), nil
}
