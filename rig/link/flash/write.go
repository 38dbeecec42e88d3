package flash

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"govrig/rig/link"
)

// WriteError is a write that avrdude could not do.
type WriteError struct {
	Err       error
	Output    string // what avrdude said
	Unplugged bool   // the port is no longer there
}

func (e *WriteError) Error() string {
	text := fmt.Sprintf("avrdude failed (%v)", e.Err)
	switch {
	case e.Unplugged:
		return "the board was unplugged while it was written: it has no whole firmware now; plug it in and run govrig flash again"
	case errors.Is(e.Err, context.DeadlineExceeded):
		text = fmt.Sprintf("avrdude did not come to its end within %v and was ended: the board has no whole firmware now; "+
			"unplug it, plug it in and run govrig flash again", WriteTime)
	}
	if strings.Contains(e.Output, "xpected signature") {
		text += ": the board's chip is no ATmega328P, and this firmware is for no other"
	}
	return text + "; it said:\n  " + strings.ReplaceAll(e.Output, "\n", "\n  ")
}

func (e *WriteError) Unwrap() error { return e.Err }

// WriteTime is how long avrdude may take: a board at 57,600 baud takes some ten
// seconds to write and to read back.
const WriteTime = 90 * time.Second

// pipePatience is how long, after avrdude was ended, its output may stay open.
const pipePatience = 300 * time.Millisecond

// Write writes the image through the boot loader that answers on port at baud,
// and has avrdude read it back. When ctx ends before it is done, the board is
// left without whole firmware; its boot loader stays.
func (p *Programmer) Write(ctx context.Context, port string, baud int, image *Image) error {
	return p.within(ctx, WriteTime, port, baud, image)
}

func (p *Programmer) within(ctx context.Context, most time.Duration, port string, baud int, image *Image) (err error) {
	dir, err := os.MkdirTemp("", "govrig-flash-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	const name = "firmware.hex"
	if err := os.WriteFile(filepath.Join(dir, name), image.hex, 0o600); err != nil {
		return err
	}
	args := []string{"-p", "m328p", "-c", "arduino", "-P", port, "-b", strconv.Itoa(baud), "-D", "-U", "flash:w:" + name + ":i"}
	if p.Config != "" {
		args = append([]string{"-C", p.Config}, args...)
	}
	bounded, cancel := context.WithTimeout(ctx, most)
	defer cancel()
	cmd := exec.CommandContext(bounded, p.Path, args...)
	cmd.Dir = dir                // a bare name: avrdude splits its argument at colons
	cmd.WaitDelay = pipePatience // for what it has started itself
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	switch err := cmd.Run(); {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	default:
		if bounded.Err() != nil {
			err = bounded.Err()
		}
		return &WriteError{Err: err, Output: lines(said.String()), Unplugged: link.Gone(ctx, port)}
	}
}

// lines gives what a program said, with one line for what it wrote over another.
func lines(said string) string {
	return strings.TrimSpace(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(said))
}
