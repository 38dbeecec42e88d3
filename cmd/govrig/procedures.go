package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"govrig/rig/execution"
)

// newProcedureCommand makes the command of a procedure from its value.
func newProcedureCommand(io streams, p *execution.Procedure) *cobra.Command {
	var o benchOptions
	options := p.New()
	c := &cobra.Command{
		Use: p.Name, Short: p.Short, Long: p.Long, Args: cobra.NoArgs,
		Example: "  govrig " + strings.Join(p.Examples, "\n  govrig "),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, p, options, strings.Join(args, ""), &o)
		},
	}
	if p.NeedsMachine() {
		c.Use, c.Args = p.Name+" MACHINE", cobra.ExactArgs(1)
	}
	o.flags(c)
	if p.NeedsMachine() {
		c.Flags().StringVar(&o.governor, "governor", "", governorUsage)
	}
	for _, f := range options.Flags() {
		addFlag(c.Flags(), f)
	}
	return c
}

// addFlag makes a flag of an option; its default is what the option holds.
func addFlag(flags *pflag.FlagSet, f execution.Flag) {
	switch v := f.Value.(type) {
	case *bool:
		flags.BoolVar(v, f.Name, *v, f.Usage)
	case *int:
		flags.IntVar(v, f.Name, *v, f.Usage)
	case *string:
		flags.StringVar(v, f.Name, *v, f.Usage)
	case *map[string]string:
		flags.StringToStringVar(v, f.Name, *v, f.Usage)
	case execution.Value:
		flags.Var(v, f.Name, f.Usage)
	default:
		panic(fmt.Sprintf("flag --%s: a %T cannot be set", f.Name, v)) // no procedure of ours has one
	}
}
