package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"govrig/sim/machine"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/emulator/bench"
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
stopped, or its input has ended. On a computer that is too busy the board waits a
little for its answers, which a real one does not. Linux only; needs the packages
that .ci/test installs.

` + bench.Words(),
		Example: "  govrig emulate testdata/machines/medium-15cc.yaml",
		Hidden:  true,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			m, err := machine.Load(args[0])
			if err != nil {
				return err
			}
			var way *bridge.Bridge
			if wire != "" {
				kind, err := bridge.Find(wire)
				if err != nil {
					return fmt.Errorf("--bridge: %w", err)
				}
				way = bridge.New(kind, 1)
			}
			b, err := bench.Open(notes, m, patience, way)
			if err != nil {
				return err
			}
			defer b.Close()
			return serveBench(c, io, b)
		},
	}
	c.Flags().StringVar(&notes, "firmware-notes", "firmware-notes", "the project's folder of that name")
	c.Flags().DurationVar(&patience, "patience", 400*time.Millisecond, "how long the board waits at most for each answer; 0 is not at all")
	c.Flags().StringVar(&wire, "bridge", "", "put a kind of wire between the board and the pseudo-terminal: "+strings.Join(bridge.Names(), ", "))
	return c
}

// serveBench serves the bench to the person at the terminal.
func serveBench(c *cobra.Command, io streams, b *bench.Bench) error {
	err := b.Serve(c.Context(), bench.Person{
		Line: newLines(io.in).next,
		Say:  func(sentence string) { fmt.Fprintln(io.err, sentence) },
		Ready: func(path string) {
			fmt.Fprintln(io.out, path)
			fmt.Fprintln(io.err, bench.Words()+"\nThe governor is on its lines.")
		},
	})
	switch {
	case err != nil:
		return err
	case c.Context().Err() != nil:
		return &exitError{code: exitStopped, err: errors.New("stopped")}
	}
	fmt.Fprintln(io.err, "Nothing more will be typed: the board is switched off.")
	return nil
}
