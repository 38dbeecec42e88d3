package main

import (
	"errors"

	"golang.org/x/sys/windows"
)

// isClosed reports whether a write failed because nobody reads any more.
func isClosed(err error) bool {
	return errors.Is(err, windows.ERROR_BROKEN_PIPE) || errors.Is(err, windows.ERROR_NO_DATA)
}
