//go:build !linux

package emulator

import (
	"context"
	"errors"
)

// Serve needs Linux.
func Serve(context.Context, Options, func(path string)) error {
	return errors.New("emulator: a board behind a pseudo-terminal needs Linux")
}
