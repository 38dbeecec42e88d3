package runlog

import (
	"errors"
	"fmt"
	"io"

	"govrig/protocol/harmless"
	"govrig/rig/runlog/block"
)

// blockFile reads a file of blocks.
type blockFile struct {
	path   string
	size   int64
	blocks *block.Reader
	// ended: the record has an end, so that every block has to be whole.
	ended bool
	n     int
	torn  int64 // bytes behind the last whole block
}

// next has the next block read; io.EOF is the end of those that are whole.
func (b *blockFile) next(read func(*block.Reader) error) error {
	before := b.blocks.Good
	err := b.blocks.Next()
	switch {
	case err == nil:
		b.n++
		if err := read(b.blocks); err != nil {
			return fmt.Errorf("%s: block %d, at byte %d: %w", harmless.Line(b.path), b.n, before, err)
		}
		return nil
	case errors.Is(err, block.ErrDamaged) && b.ended:
		return fmt.Errorf("%s: block %d, at byte %d: %w", harmless.Line(b.path), b.n+1, before, err)
	case err == io.EOF, errors.Is(err, block.ErrDamaged):
		b.torn = b.size - before
		return io.EOF
	}
	return err
}
