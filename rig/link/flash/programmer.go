package flash

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
)

// Programmer is an avrdude that was found.
type Programmer struct {
	// Path is the program.
	Path string
	// Config is its list of parts, where it lies beside the program as in the
	// Arduino IDE's folders; empty where it finds its own.
	Config string
}

// MissingError is a computer without avrdude.
type MissingError struct{ System string }

func (e *MissingError) Error() string {
	how, ok := map[string]string{
		"linux":   "sudo apt install avrdude (or your system's way of installing it)",
		"darwin":  "brew install avrdude, or install the Arduino IDE and its AVR boards",
		"windows": "winget install AVRDudes.AVRDUDE, or install the Arduino IDE and start it once, so that it fetches its AVR boards",
	}[e.System]
	if !ok {
		how = "install avrdude"
	}
	return "avrdude, the program that writes to the board, was found neither on the PATH nor in the Arduino IDE's folders: " +
		how + "; then try again, or name it with --avrdude"
}

// Find looks for avrdude on the PATH, then in the folders in which the Arduino
// IDE keeps it.
func Find() (*Programmer, error) {
	if path, err := exec.LookPath("avrdude"); err == nil {
		return at(path), nil
	}
	for _, pattern := range folders(runtime.GOOS, os.Getenv) {
		found, _ := filepath.Glob(pattern)
		for i := len(found) - 1; i >= 0; i-- { // the newest version is the last
			if path, err := exec.LookPath(found[i]); err == nil {
				return at(path), nil
			}
		}
	}
	return nil, &MissingError{System: runtime.GOOS}
}

// At gives the avrdude that is named: by its path, or by what it is called on the
// PATH.
func At(name string) (*Programmer, error) {
	path, err := exec.LookPath(name)
	if err != nil && !errors.Is(err, exec.ErrDot) {
		return nil, fmt.Errorf("there is no program %q to write to the board with: name avrdude with its path, or leave --avrdude out (%w)", name, err)
	}
	if path, err = filepath.Abs(path); err != nil { // it runs in another folder
		return nil, err
	}
	return at(path), nil
}

func at(path string) *Programmer {
	p := &Programmer{Path: path}
	config := filepath.Join(filepath.Dir(path), "..", "etc", "avrdude.conf")
	if _, err := os.Stat(config); err == nil {
		p.Config = config
	}
	return p
}

// folders gives patterns of where the Arduino IDE, in its versions, keeps
// avrdude on a system.
func folders(system string, env func(string) string) []string {
	const tool = "packages/arduino/tools/avrdude/*/bin/avrdude"
	const old = "hardware/tools/avr/bin/avrdude"
	join := func(dir, rest, suffix string) string {
		if dir == "" {
			return ""
		}
		return filepath.FromSlash(dir + "/" + rest + suffix)
	}
	var all []string
	switch system {
	case "windows":
		all = []string{
			join(env("LOCALAPPDATA"), "Arduino15/"+tool, ".exe"),
			join(env("ProgramFiles(x86)"), "Arduino/"+old, ".exe"),
			join(env("ProgramFiles"), "Arduino/"+old, ".exe"),
		}
	case "darwin":
		all = []string{
			join(env("HOME"), "Library/Arduino15/"+tool, ""),
			"/Applications/Arduino.app/Contents/Java/" + old,
		}
	default:
		all = []string{
			join(env("HOME"), ".arduino15/"+tool, ""),
			join(env("HOME"), "snap/arduino/current/.arduino15/"+tool, ""),
			join(env("HOME"), ".var/app/cc.arduino.IDE2/.arduino15/"+tool, ""),
			"/usr/share/arduino/" + old,
			"/opt/arduino*/" + old,
		}
	}
	var known []string
	for _, pattern := range all {
		if pattern != "" {
			known = append(known, pattern)
		}
	}
	return known
}
