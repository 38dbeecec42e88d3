package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"govrig/sim/machine"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/emulator"
)

// newEmulateCommand is for developers: it needs the project's folder.
func newEmulateCommand(io streams) *cobra.Command {
	var notes string
	var patience time.Duration
	var wire string
	c := &cobra.Command{
		Use:   "emulate MACHINE",
		Short: "Run the real firmware in the emulator behind a pseudo-terminal (for developers)",
		Long: `Runs the firmware of firmware-notes in the emulator, in step with wall time, with
the machine's stand-in governor on its pins. Prints the path of a pseudo-terminal
that other commands take as --port. Lines typed meanwhile change what is joined to
the pins, so that every test can be gone through as at a bench. Runs until it is
stopped. On a computer that is too busy the board waits a little for its answers,
which a real one does not. Linux only; needs the packages that .ci/test installs.

` + wordList(),
		Example: "  govrig emulate testdata/machines/trainer-15cc.yaml",
		Hidden:  true,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			m, err := machine.Load(args[0])
			if err != nil {
				return err
			}
			harness, err := emulator.Build(filepath.Join(notes, "emulator"))
			if err != nil {
				return err
			}
			options := emulator.Options{
				Harness: harness, Firmware: filepath.Join(notes, "firmware", "firmware.hex"), Patience: patience,
			}
			if wire != "" {
				kind, err := bridge.Find(wire)
				if err != nil {
					return fmt.Errorf("--bridge: %w", err)
				}
				options.Bridge = bridge.New(kind, 1)
			}
			b, err := emulator.Open(options)
			if err != nil {
				return err
			}
			defer b.Close()
			return serveEmulated(c.Context(), io, &emulatedBench{board: b, machine: m})
		},
	}
	c.Flags().StringVar(&notes, "firmware-notes", "firmware-notes", "the project's folder of that name")
	c.Flags().DurationVar(&patience, "patience", 400*time.Millisecond, "how long the board waits at most for each answer; 0 is not at all")
	c.Flags().StringVar(&wire, "bridge", "", "put a kind of wire between the board and the pseudo-terminal: "+strings.Join(bridge.Names(), ", "))
	return c
}

// serveEmulated serves the board, and does what the person types meanwhile.
func serveEmulated(ctx context.Context, io streams, bench *emulatedBench) error {
	first, err := bench.governor(nil)
	if err != nil {
		return err
	}
	typing, done := context.WithCancel(ctx)
	var typed sync.WaitGroup
	err = bench.board.Serve(ctx, func(path string) {
		fmt.Fprintln(io.out, path)
		fmt.Fprint(io.err, wordList()+"\n"+first+"\n")
		typed.Go(func() { bench.typed(typing, io) })
	})
	done()
	typed.Wait()
	if err == nil && ctx.Err() != nil {
		return &exitError{code: exitStopped, err: errors.New("stopped")}
	}
	return err
}

// typed does what is typed, line by line, until there is no more.
func (b *emulatedBench) typed(ctx context.Context, io streams) {
	for lines := newLines(io.in); ; {
		line, err := lines.next(ctx)
		if answer := b.do(line); answer != "" {
			fmt.Fprintln(io.err, answer)
		}
		if err != nil {
			return
		}
	}
}
