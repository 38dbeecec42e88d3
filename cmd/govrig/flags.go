package main

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"govrig/sim/keyfile"
)

// unknownFlag names the flag that was most likely meant by one that is none.
func unknownFlag(c *cobra.Command, err error) error {
	given, ok := strings.CutPrefix(err.Error(), "unknown flag: --")
	if !ok {
		return err
	}
	var all []string
	c.Flags().VisitAll(func(f *pflag.Flag) { all = append(all, f.Name) })
	if near := keyfile.Nearest(given, all); near != "" {
		return fmt.Errorf("there is no flag --%s; did you mean --%s?", given, near)
	}
	return fmt.Errorf("there is no flag --%s; %s --help lists them", given, c.CommandPath())
}

// together is what the library for commands says of flags that exclude one another.
var together = regexp.MustCompile(`^if any flags in the group \[.*\] are set none of the others can be; \[(.*)\] were all set$`)

// plainly says it in a person's words.
func plainly(err error) error {
	if part := together.FindStringSubmatch(err.Error()); part != nil {
		return fmt.Errorf("give one of these only: --%s", strings.ReplaceAll(part[1], " ", ", --"))
	}
	return err
}
