package main

import (
	"github.com/spf13/cobra"

	"govrig/sim/machine"
	"govrig/sim/words"
)

func newSchemaCommand(io streams) *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of the machine file, for an editor that completes keys",
		Long: `Prints the JSON Schema (draft 2020-12) of the machine file. Save it beside your
machine files, then tell your editor's YAML support to use it for them. Most
take a first line such as

  # yaml-language-server: $schema=machine.schema.json`,
		Example: "  govrig schema > machine.schema.json",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return words.JSON(io.out, machine.File.Schema())
		},
	}
}
