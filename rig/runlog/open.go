package runlog

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"

	"govrig/protocol/harmless"
)

// Bounds of what is read whole.
const (
	mostText = 8 << 20 // bytes of one small file
	mostLine = 4 << 20 // bytes of one line
)

// FileError is a file of a record that cannot be used.
type FileError struct {
	Path string
	// Problem says what is wrong with it.
	Problem string
	Err     error
}

func (e *FileError) Error() string { return harmless.Line(e.Path) + " " + e.Problem }

func (e *FileError) Unwrap() error { return e.Err }

// openFile opens a file of a record. Whatever else has its name is refused: a link,
// a device or a pipe may have no end.
func openFile(path string) (*os.File, int64, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, 0, err
	}
	if what := kindOf(info.Mode()); what != "" {
		return nil, 0, &FileError{Path: path, Problem: "is " + what + " and no file: a record has files only"}
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0) // or a pipe put there meanwhile would wait for its writer
	if err != nil {
		return nil, 0, err
	}
	now, err := f.Stat()
	if err == nil && !os.SameFile(info, now) {
		err = &FileError{Path: path, Problem: "was changed while it was opened"}
	}
	if err != nil {
		_ = f.Close()
		return nil, 0, err
	}
	return f, now.Size(), nil
}

// kindOf says what is no plain file; nothing for one.
func kindOf(mode fs.FileMode) string {
	switch {
	case mode.IsRegular():
		return ""
	case mode.IsDir():
		return "a folder"
	case mode&fs.ModeSymlink != 0:
		return "a link"
	case mode&fs.ModeNamedPipe != 0:
		return "a pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	}
	return "a device"
}

// readFile reads a small file of a record.
func readFile(path string) ([]byte, error) { return readBounded(path, mostText) }

// readBounded reads a file of at most so many bytes.
func readBounded(path string, most int64) ([]byte, error) {
	f, size, err := openFile(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if size > most {
		return nil, &FileError{Path: path, Problem: fmt.Sprintf("has %d bytes, more than such a file ever has", size)}
	}
	b := make([]byte, size, size+1)
	n, err := io.ReadFull(f, b)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	return b[:n], nil
}
