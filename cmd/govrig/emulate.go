package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"govrig/sim/emulator"
	"govrig/sim/governor"
	"govrig/sim/machine"
)

// newEmulateCommand is for developers: it needs the project's folder.
func newEmulateCommand(io streams) *cobra.Command {
	var notes string
	c := &cobra.Command{
		Use:   "emulate MACHINE",
		Short: "Run the real firmware in the emulator behind a pseudo-terminal (for developers)",
		Long: `Runs the firmware of firmware-notes in the emulator, in step with wall time, with
the machine's stand-in governor on its pins. Prints the path of a pseudo-terminal
that other commands take as --port. Runs until it is stopped. Linux only; needs
the packages that .ci/test installs.`,
		Hidden: true,
		Args:   cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			m, err := machine.Load(args[0])
			if err != nil {
				return err
			}
			g, err := governor.New(m.GovernorParams(emulator.TickHz), 0)
			if err != nil {
				return err
			}
			harness, err := emulator.Build(filepath.Join(notes, "emulator"))
			if err != nil {
				return err
			}
			err = emulator.Serve(c.Context(), emulator.Options{
				Harness: harness, Firmware: filepath.Join(notes, "firmware", "firmware.hex"), Governor: g,
			}, func(path string) { fmt.Fprintln(io.out, path) })
			if err == nil && c.Context().Err() != nil {
				return &exitError{code: exitStopped, err: errors.New("stopped")}
			}
			return err
		},
	}
	c.Flags().StringVar(&notes, "firmware-notes", "firmware-notes", "the project's folder of that name")
	return c
}
