//go:build !linux

package emulator

import (
	"context"
	"errors"
)

var errServe = errors.New("a board behind a pseudo-terminal needs Linux")

// Serve needs Linux.
func Serve(context.Context, Options, func(path string)) error { return errServe }

// Serve needs Linux.
func (b *Board) Serve(context.Context, func(path string)) error { return errServe }
