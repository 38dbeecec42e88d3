package runlog

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// FolderError is a folder for run records that cannot be used.
type FolderError struct {
	Folder string
	// Problem says what is wrong with it.
	Problem string
	Err     error
}

func (e *FolderError) Error() string {
	return fmt.Sprintf("the folder of the run records, %s, %s: name another with --records", e.Folder, e.Problem)
}

func (e *FolderError) Unwrap() error { return e.Err }

// Writable makes the folder where it is missing, and tries that a record can be
// kept in it. The error is a *FolderError.
func Writable(folder string) error {
	if err := folderError(folder, os.MkdirAll(folder, 0o755)); err != nil {
		return err
	}
	probe, err := os.MkdirTemp(folder, ".probe-")
	if err == nil {
		err = os.Remove(probe)
	}
	return folderError(folder, err)
}

// Readable reports a folder that is there and cannot be listed, as a *FolderError;
// one that is not there yet is no error.
func Readable(folder string) error {
	if _, err := os.Lstat(folder); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	f, err := os.Open(folder)
	if err == nil {
		_, err = f.Readdirnames(1)
		if errors.Is(err, io.EOF) {
			err = nil
		}
		_ = f.Close()
	}
	return folderError(folder, err)
}

// folderError says what is wrong with a folder that gave an error; without one
// nothing is.
func folderError(folder string, err error) error {
	if err == nil {
		return nil
	}
	problem := fmt.Sprintf("cannot be used (%v)", err)
	info, stat := os.Stat(folder)
	link, lstat := os.Lstat(folder)
	switch {
	case stat == nil && !info.IsDir():
		problem = "is a file"
	case stat != nil && lstat == nil && link.Mode()&fs.ModeSymlink != 0:
		problem = "is a link that leads nowhere"
	case errors.Is(err, fs.ErrPermission):
		problem = "may not be written or read by you"
	case errors.Is(err, fs.ErrNotExist) && stat != nil:
		problem = "is not there"
	}
	return &FolderError{folder, problem, err}
}
