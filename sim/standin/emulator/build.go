package emulator

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// MissingError is a tool or library that building needs and that is not
// installed.
type MissingError struct {
	What    string // program or file
	Package string // the Debian package that has it
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s is missing: install it with apt-get install %s", e.What, e.Package)
}

// Build brings the harness in dir (firmware-notes/emulator of this module) up
// to date and gives its path. A missing tool is a *MissingError.
func Build(dir string) (string, error) {
	if err := need(
		MissingError{"make", "make"},
		MissingError{"cc", "gcc"},
		MissingError{"/usr/include/simavr/sim_avr.h", "libsimavr-dev"},
		MissingError{"/usr/lib/avr/include/avr/iom328p.h", "avr-libc"},
	); err != nil {
		return "", err
	}
	if err := makeTarget(dir, "harness"); err != nil {
		return "", err
	}
	return filepath.Join(dir, "harness"), nil
}

// need checks for programs, named bare, and files, named by their path.
func need(tools ...MissingError) error {
	for _, tool := range tools {
		var err error
		if filepath.IsAbs(tool.What) {
			_, err = os.Stat(tool.What)
		} else {
			_, err = exec.LookPath(tool.What)
		}
		if err != nil {
			return &tool
		}
	}
	return nil
}

func makeTarget(dir, target string) error {
	out, err := exec.Command("make", "-s", "-C", dir, target).CombinedOutput()
	if err == nil {
		return nil
	}
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		return fmt.Errorf("make %s: %w\n%s", target, err, out)
	}
	return fmt.Errorf("make %s: %w", target, err)
}
