package runlog

import (
	"errors"
	"os"

	"govrig/rig/runlog/block"
)

// blockWriter writes a file of blocks, and beside it a copy of it in large and
// packed blocks, which takes its place at the end. Without room for the copy the
// file stays as it is: it is of the same form.
type blockWriter struct {
	path          string
	file, copy    *os.File
	plain, packed block.Writer
	buf           []byte
	failed        error // of the copy
}

const newSuffix = ".new" // of files that are put in place at the end

func (w *blockWriter) open(path string) (err error) {
	w.path, w.packed.Pack = path, true
	if w.file, err = newFile(path); err != nil {
		return err
	}
	w.copy, err = newFile(path + newSuffix)
	return err
}

// small writes a block to the file; its buffer is used again.
func (w *blockWriter) small(b []byte) error {
	w.buf = b
	_, err := w.file.Write(b)
	return err
}

// large writes a block to the copy.
func (w *blockWriter) large(b []byte) {
	w.buf = b
	if w.failed == nil {
		_, w.failed = w.copy.Write(b)
	}
}

// finish puts the copy in the place of the file where the copy is whole.
func (w *blockWriter) finish() error {
	failed := errors.Join(w.failed, w.copy.Sync(), w.copy.Close())
	if failed == nil {
		if err := w.file.Close(); err != nil {
			return err
		}
		return os.Rename(w.path+newSuffix, w.path)
	}
	return errors.Join(w.file.Sync(), w.file.Close(), os.Remove(w.path+newSuffix))
}
