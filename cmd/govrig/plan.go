package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"govrig/rig/advise/predict"
	"govrig/rig/advise/sheet"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
)

type planOptions struct {
	json          bool
	svg, governor string
}

func newPlanCommand(io streams) *cobra.Command {
	var o planOptions
	c := &cobra.Command{
		Use:   "plan MACHINE",
		Short: "Work out the set-up sheet: gears, speeds, throttle linkage, pickup",
		Long: `Works out, from the machine file alone, one page for the bench: what the
governor can be set to and the head speed that results, pulses, blade tips and
stored energy, the throttle linkage and what to change on it, what the pickup
gives, and whether the rig can play it all. Nothing is measured and no board is
needed.`,
		Example: "  govrig plan mine.yaml\n  govrig plan mine.yaml --json\n  govrig plan mine.yaml --svg linkage.svg",
		Args:    cobra.ExactArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return plan(io, args[0], o) },
	}
	c.Flags().BoolVar(&o.json, "json", false, "print the sheet as one JSON document, schema "+sheet.Schema)
	c.Flags().StringVar(&o.svg, "svg", "", "also draw linkage angle and open area into this SVG file")
	c.Flags().StringVar(&o.governor, "governor", "", "a governor file (see identify): which gain to start from, and whether it can hold this machine")
	return c
}

func plan(io streams, path string, o planOptions) error {
	m, err := machine.Load(path)
	if err != nil {
		return err
	}
	for _, caution := range m.Cautions {
		fmt.Fprintf(io.err, "caution: %s\n", caution)
	}
	s, err := sheet.New(sheet.FromMachine(m, sheet.HobbyBoard()))
	if err != nil {
		return err
	}
	if o.governor != "" {
		if m.Other, err = model.Load(o.governor); err != nil {
			return err
		}
		if s.Start, err = predict.NewStart(m); err != nil {
			return err
		}
	}
	if o.svg != "" {
		if err := draw(s, o.svg); err != nil {
			return err
		}
		fmt.Fprintf(io.err, "drawn: %s\n", o.svg)
	}
	if o.json {
		return s.WriteJSON(io.out)
	}
	return s.WriteText(io.out)
}

func draw(s *sheet.Sheet, path string) error {
	return writeFile(path, s.WriteSVG)
}
