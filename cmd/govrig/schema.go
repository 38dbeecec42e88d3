package main

import (
	"github.com/spf13/cobra"

	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/words"
)

func newSchemaCommand(io streams) *cobra.Command {
	ofGovernor := false
	c := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of the machine file, for an editor that completes keys",
		Long: `Prints the JSON Schema (draft 2020-12) of the machine file, or of the governor file
that identify writes. Save it beside your
machine files, then tell your editor's YAML support to use it for them. Most
take a first line such as

  # yaml-language-server: $schema=machine.schema.json`,
		Example: "  govrig schema > machine.schema.json",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if ofGovernor {
				return words.JSON(io.out, model.Schema())
			}
			return words.JSON(io.out, machine.File.Schema())
		},
	}
	c.Flags().BoolVar(&ofGovernor, "governor", false, "print that of the governor file")
	return c
}
