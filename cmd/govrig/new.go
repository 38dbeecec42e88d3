package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

// answers are the flags of govrig new, each with the path of its key in the
// machine file.
var answers = []struct{ flag, path, usage string }{
	{"name", "name", "what to call the machine"},
	{"displacement", "engine.displacement", `swept volume, such as "15 cm3"`},
	{"fuel", "engine.fuel", "methanol or petrol"},
	{"pinion", "gears[0].driver", "teeth of the driving wheel"},
	{"main-gear", "gears[0].driven", "teeth of the driven wheel"},
	{"ratio", "gears[0].ratio", "in place of the teeth: engine turns for one of the head"},
	{"rotor-radius", "main_rotor.radius", `from the shaft to the blade tip, such as "0.69 m"`},
	{"blades", "main_rotor.blades", "number of blades"},
	{"greatest-head-speed", "main_rotor.greatest_head_speed", "that the blade maker allows"},
	{"magnets", "pickup.magnets", "how many magnets pass the pickup's sensor in a turn of the engine"},
	{"select", "governor.select", "how the governor is asked for a speed: none, steps or continuous"},
	{"mass", "flying_mass", `mass ready to fly, such as "4.6 kg"`},
	{"head-speed", "speeds.hover.head_speed", `wanted head speed, such as "1650 rpm"`},
}

const newFile = "machine.yaml"

func newNewCommand(io streams) *cobra.Command {
	given := make([]string, len(answers))
	c := &cobra.Command{
		Use:   "new [FILE]",
		Short: "Write a machine file with remarks, to be filled in with an editor",
		Long: `Writes a machine file in which every key is explained. The flags fill in the
main answers; everything else starts as an invented machine, brought to the size
of the machine: engines of 5 to 60 cm³ come out with usual values. The file is
` + newFile + ` unless another is named; one that exists is never overwritten.`,
		Example: `  govrig new mine.yaml --displacement "15 cm3" --pinion 9 --main-gear 78`,
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := newFile
			if len(args) == 1 {
				path = args[0]
			}
			filled := map[string]string{}
			for i, a := range answers {
				if c.Flags().Changed(a.flag) {
					filled[a.path] = given[i]
				}
			}
			text, err := machine.Template(filled)
			if err != nil {
				return byFlag(err)
			}
			if err := writeNew(path, text); err != nil {
				return err
			}
			fmt.Fprintf(io.err, "Wrote %s. Fill it in with an editor, then check it: govrig plan %s\n", path, path)
			return nil
		},
	}
	for i, a := range answers {
		c.Flags().StringVar(&given[i], a.flag, "", a.usage)
	}
	return c
}

// byFlag names the flags in place of the file's keys.
func byFlag(err error) error {
	var faults keyfile.Faults
	if !errors.As(err, &faults) {
		return err
	}
	var lines []string
	for _, f := range faults {
		what := f.Path
		for _, a := range answers {
			if a.path == f.Path {
				what = "--" + a.flag
			}
		}
		lines = append(lines, fmt.Sprintf("%s: %s; %s", what, f.Problem, f.Remedy))
	}
	return errors.New(strings.Join(lines, "\n"))
}

// writeNew writes a file that must not exist yet, whole or not at all.
func writeNew(path, text string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s exists already and is left as it is; name another file", path)
	}
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return nil
}
