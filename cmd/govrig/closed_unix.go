//go:build !windows

package main

import (
	"errors"
	"syscall"
)

// isClosed reports whether a write failed because nobody reads any more: EPIPE
// of a pipe, EIO of a terminal.
func isClosed(err error) bool { return errors.Is(err, syscall.EPIPE) || errors.Is(err, syscall.EIO) }
