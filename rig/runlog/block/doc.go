// Package block packs columns of numbers and bytes into blocks that follow one
// another in a file, each with its length and its check, and takes them apart
// again. FORMAT.md, one folder up, describes the bytes.
//
// What is read may be damaged or made by somebody who means harm: no length in it
// is believed before it has been held against a bound, and no block takes more
// memory than the bounds say, packed or not.
package block

import (
	"errors"
	"fmt"
)

// Bounds of a block.
const (
	// MaxRows is how many rows a block has at most.
	MaxRows = 1 << 14
	// MaxContent is the longest block on disk, and the longest column in memory,
	// in bytes.
	MaxContent = 1 << 20
)

const headSize = 4 + 4 // length and check of the content

// How a column is stored.
const (
	plain    = 0
	deflated = 1 // RFC 1951
)

// ErrDamaged is a block that is not whole, or not as it was written.
var ErrDamaged = errors.New("damaged block")

func damaged(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrDamaged}, args...)...)
}
