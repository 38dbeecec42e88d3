package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"govrig/protocol/harmless"
	"govrig/rig/link"
	"govrig/rig/link/survey"
	"govrig/sim/words"
)

type portsOptions struct {
	json  bool
	noAsk bool
}

func newPortsCommand(io streams) *cobra.Command {
	var o portsOptions
	c := &cobra.Command{
		Use:   "ports [PORT...]",
		Short: "List serial ports and tell which of them answers as a rig board",
		Long: `Lists the serial ports of this computer and asks on those on USB, or on the ones
named, who is there. Asking restarts most boards and takes up to nine seconds.
A port that is not listed may be named all the same.

Exit codes: 0 a rig board answers, 3 none does.`,
		Example: "  govrig ports\n  govrig ports --json\n  govrig ports /dev/ttyUSB0",
		RunE: func(c *cobra.Command, args []string) error {
			return ports(c.Context(), io, args, o)
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print one JSON document, schema "+survey.Schema)
	c.Flags().BoolVar(&o.noAsk, "no-ask", false, "list only, open nothing")
	return c
}

func ports(ctx context.Context, io streams, named []string, o portsOptions) error {
	table, err := survey.Take(ctx, named, !o.noAsk, func() {
		fmt.Fprintln(io.err, "Asking who is there; that takes up to nine seconds.")
	})
	switch {
	case ctx.Err() != nil:
		return &exitError{code: exitStopped, err: errors.New("stopped")}
	case err != nil:
		return &exitError{code: exitNoBoard, err: err}
	}
	if err := printPorts(io.out, table, o.json); err != nil {
		return err
	}
	switch {
	case o.noAsk || table.Rigs() > 0:
		return nil
	case table.Asked()+len(table.WithoutDriver) == 0:
		return &exitError{code: exitNoBoard, err: &link.NotFoundError{}}
	}
	return &exitError{code: exitNoBoard}
}

func printPorts(w io.Writer, t *survey.Table, asJSON bool) error {
	if asJSON {
		return words.JSON(w, t)
	}
	columns := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i := range t.Ports {
		e := &t.Ports[i]
		fmt.Fprintf(columns, "%s\t%s\t%s\n", harmless.Line(e.Port), e.Chip, e.What())
		if e.Advice != "" {
			fmt.Fprintf(columns, "\t\t%s\n", harmless.Line(e.Advice))
		}
	}
	for _, text := range t.WithoutDriver {
		fmt.Fprintln(columns, text)
	}
	return columns.Flush()
}
