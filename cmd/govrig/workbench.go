package main

import (
	"context"
	"fmt"
	"os/exec"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/execution"
	"govrig/rig/procedure/byhand"
	"govrig/rig/show/live"
	"govrig/rig/show/workbench"
	"govrig/sim/machine"
)

func newBenchCommand(io streams) *cobra.Command {
	var o benchOptions
	var quiet bool
	var folder string
	c := &cobra.Command{
		Use:   "bench [MACHINE]",
		Short: "Open the whole evening in a window: machine, board, tests, paper",
		Long: `Serves a page to this computer only and opens the browser on it: the machine file
as a form, the board, the tests with what to connect and what could hurt, the run
while it lasts, and the report. Ctrl-C, or closing this window, ends it, and makes
the board safe. With --virtual, and from the page itself, everything can be walked
through with no hardware; a virtual evening plays several times faster than real
time.`,
		Example: "  govrig bench --virtual\n  govrig bench mine.yaml",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := ""
			if len(args) == 1 {
				path = args[0]
			}
			return openWorkbench(c.Context(), io, path, folder, &o, !quiet)
		},
	}
	o.flags(c)
	for _, name := range []string{"json", "live", "no-input", "answer", "engine-cannot-run", "bridge"} {
		_ = c.Flags().MarkHidden(name) // it exists
	}
	c.Flags().StringVar(&folder, "folder", ".", "folder of the machine files")
	c.Flags().BoolVar(&quiet, "no-browser", false, "only say the address; open no browser")
	return c
}

// openWorkbench serves the page until the program is to end.
func openWorkbench(ctx context.Context, io streams, path, folder string, o *benchOptions, open bool) error {
	if path != "" {
		if _, err := machine.Load(path); err != nil {
			return err
		}
	}
	if err := o.recordsReady(); err != nil {
		return err
	}
	w := workbench.New(workbench.Options{
		Folder: folder, Records: o.records, Machine: path, Virtual: o.virtual, Notes: io.err, After: time.After,
		Bench: func(ctx context.Context, p *execution.Procedure, options execution.Options, m *machine.Machine, virtual bool, page *live.Page) (*execution.Bench, error) {
			mine := benchOptions{virtual: virtual, port: o.port, baud: o.baud, records: o.records, delay: o.delay, wire: o.wire}
			b, err := mine.dark(ctx, io, p, options, m)
			if err != nil {
				return nil, err
			}
			o.wire = mine.wire
			page.Watch(b)
			if virtual {
				b.GoesOn = p == &byhand.Procedure
				b.Progress = paced(b.Progress, pace(p))
			} else {
				b.Ask = page.AskHere
			}
			return b, nil
		},
	})
	server, err := live.Serve(w.Page(), w)
	if err != nil {
		return err
	}
	fmt.Fprintf(io.err, "The bench page, on this computer only: %s\nIt stays while this window is open. Closing the window, or Ctrl-C, ends what is under way and makes the board safe.\n", server.URL())
	if open {
		if err := browse(server.URL()); err != nil {
			fmt.Fprintln(io.err, "No browser could be opened; open the address by hand.")
		}
	}
	<-ctx.Done()
	w.Close()
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	return server.Close(last)
}

// virtualPace is how much faster than real time a virtual evening plays.
const virtualPace = 8

// pace is how much faster than real time a virtual procedure plays: by hand, it
// does not.
func pace(p *execution.Procedure) float64 {
	if p == &byhand.Procedure {
		return 1
	}
	return virtualPace
}

// browse opens the browser of the computer on an address.
func browse(url string) error {
	name, args := browser(runtime.GOOS, url)
	return exec.Command(name, args...).Start()
}

// browser is the program of an operating system that opens an address.
func browser(system, url string) (name string, args []string) {
	switch system {
	case "windows":
		return "rundll32", []string{"url.dll,FileProtocolHandler", url}
	case "darwin":
		return "open", []string{url}
	}
	return "xdg-open", []string{url}
}
