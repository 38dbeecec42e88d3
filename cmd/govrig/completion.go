package main

import (
	"context"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"govrig/rig/execution"
	"govrig/rig/link"
	"govrig/sim/machine"
)

// completions tells the shell what can stand in each command's place for a
// machine, a run, a log, a port, a folder.
func completions(commands []*cobra.Command) {
	for _, c := range commands {
		switch what := strings.Fields(c.Use + " -")[1]; {
		case what == "MACHINE" || what == "[FILE]":
			c.ValidArgsFunction = files("yaml", "yml")
		case what == "FILE":
			c.ValidArgsFunction = files("csv")
		case strings.HasPrefix(what, "RUN"):
			c.ValidArgsFunction = runsHere
		case what == "[PORT...]":
			c.ValidArgsFunction = portsHere
		default:
			c.ValidArgsFunction = cobra.NoFileCompletions
		}
		for flag, values := range map[string]cobra.CompletionFunc{
			"port": portsHere, "speed": speeds, "records": folders,
		} {
			if c.Flags().Lookup(flag) != nil {
				_ = c.RegisterFlagCompletionFunc(flag, values) // only fails where it was done before
			}
		}
	}
}

func files(extensions ...string) cobra.CompletionFunc {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return extensions, cobra.ShellCompDirectiveFilterFileExt
	}
}

func folders(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveFilterDirs
}

// runsHere are the kept runs, the newest first, and the word for the newest.
func runsHere(c *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	names := []string{"last"}
	records, err := c.Flags().GetString("records")
	if err != nil {
		return names, cobra.ShellCompDirectiveDefault
	}
	found, _ := filepath.Glob(filepath.Join(records, "[0-9]*-*"))
	for i := range found {
		names = append(names, filepath.Base(found[len(found)-1-i]))
	}
	if strings.HasSuffix(c.Use, "|MACHINE") { // a machine file will do, too
		return names, cobra.ShellCompDirectiveKeepOrder
	}
	return names, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
}

// portsHere are the serial ports of this computer, with the chip behind each.
func portsHere(c *cobra.Command, _ []string, _ string) (paths []string, _ cobra.ShellCompDirective) {
	ctx := c.Context()
	if ctx == nil {
		ctx = context.Background()
	}
	devices, err := link.Devices(ctx)
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	for _, d := range devices {
		paths = append(paths, cobra.CompletionWithDesc(d.Path, d.Chip()))
	}
	return paths, cobra.ShellCompDirectiveNoFileComp
}

// speeds are the names of the speed settings of the machine file named so far.
func speeds(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	m, err := machine.Load(args[0])
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, s := range m.Speeds {
		names = append(names, s.Name)
	}
	return append(names, execution.AllSpeeds), cobra.ShellCompDirectiveNoFileComp
}
