package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	firmware "govrig/firmware-notes"
	"govrig/protocol"
)

// stamped is the version that .ci/build puts into a program for others.
var stamped string

// version is what the build stamped into the program, or "unknown". Every run
// record carries it.
func version() string {
	if stamped != "" {
		return stamped
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	text := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && (text == "" || text == "(devel)") {
			text = s.Value
		}
	}
	if text == "" {
		return "unknown"
	}
	return text
}

func newVersionCommand(io streams) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Tell which govrig this is, and which firmware it carries",
		Example: "  govrig version",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintf(io.out, "govrig %s, %s/%s, %s\nfirmware %d.%d, wire version %d\n", version(),
				runtime.GOOS, runtime.GOARCH, runtime.Version(), firmware.Major, firmware.Minor, protocol.Version)
			return err
		},
	}
}
