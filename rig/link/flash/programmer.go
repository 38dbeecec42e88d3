package flash

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
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
	return "flash: avrdude, the program that writes to the board, was found neither on the PATH nor in the Arduino IDE's folders: " +
		how + "; then try again, or name it with --avrdude"
}

// Find looks for avrdude on the PATH, then in the folders in which the Arduino
// IDE keeps it.
func Find() (*Programmer, error) {
	if path, err := exec.LookPath("avrdude"); err == nil {
		return At(path), nil
	}
	for _, pattern := range folders(runtime.GOOS, os.Getenv) {
		found, _ := filepath.Glob(pattern)
		for i := len(found) - 1; i >= 0; i-- { // the newest version is the last
			if path, err := exec.LookPath(found[i]); err == nil {
				return At(path), nil
			}
		}
	}
	return nil, &MissingError{System: runtime.GOOS}
}

// At gives the avrdude at path.
func At(path string) *Programmer {
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

// WriteError is a write that avrdude could not do.
type WriteError struct {
	Err    error
	Output string // what avrdude said
}

func (e *WriteError) Error() string {
	text := fmt.Sprintf("flash: avrdude failed (%v)", e.Err)
	if strings.Contains(e.Output, "xpected signature") {
		text += ": the board's chip is no ATmega328P, and this firmware is for no other"
	}
	return text + "; it said:\n" + e.Output
}

func (e *WriteError) Unwrap() error { return e.Err }

// Write writes the image through the boot loader that answers on port at baud,
// and has avrdude read it back. When ctx ends before it is done, the board is
// left without whole firmware; its boot loader stays.
func (p *Programmer) Write(ctx context.Context, port string, baud int, image *Image) (err error) {
	dir, err := os.MkdirTemp("", "govrig-flash-")
	if err != nil {
		return fmt.Errorf("flash: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	const name = "firmware.hex"
	if err := os.WriteFile(filepath.Join(dir, name), image.hex, 0o600); err != nil {
		return fmt.Errorf("flash: %w", err)
	}
	args := []string{"-p", "m328p", "-c", "arduino", "-P", port, "-b", strconv.Itoa(baud), "-D", "-U", "flash:w:" + name + ":i"}
	if p.Config != "" {
		args = append([]string{"-C", p.Config}, args...)
	}
	cmd := exec.CommandContext(ctx, p.Path, args...)
	cmd.Dir = dir // a bare name: avrdude splits its argument at colons
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Run(); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return &WriteError{Err: err, Output: strings.TrimSpace(said.String())}
	}
	return nil
}
