package runlog

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
)

// sumsSchema is the version of the form of sums.json.
const sumsSchema = "govrig/sums/1"

// sums is sums.json: what each file of a finished record was.
type sums struct {
	Schema string         `json:"schema"`
	Files  map[string]sum `json:"files"`
}

// sum is what a file was.
type sum struct {
	Bytes int64  `json:"bytes"`
	Hash  string `json:"sha256"` // hexadecimal
}

// files are those of a finished record, small ones first.
var (
	smallFiles = []string{infoFile, machineFile, resultFile, endFile}
	grownFiles = []string{scriptFile, wireFile, samplesFile}
)

// sumOf sums up what r gives.
func sumOf(r io.Reader) (sum, error) {
	hash := sha256.New()
	n, err := io.Copy(hash, r)
	return sum{n, hex.EncodeToString(hash.Sum(nil))}, err
}

// sumOfFile sums up a file.
func sumOfFile(path string) (_ sum, err error) {
	f, _, err := openFile(path)
	if err != nil {
		return sum{}, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return sumOf(f)
}

// verify holds files against their sums. Without sums nothing can be shown.
func (r *Record) verify(names []string) error {
	if r.sums == nil {
		return nil
	}
	for _, name := range names {
		if err := r.sums.verify(filepath.Join(r.Dir, name), name); err != nil {
			return err
		}
	}
	return nil
}

func (s *sums) verify(path, name string) error {
	want, listed := s.Files[name]
	f, size, err := openFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !listed:
		return nil
	case errors.Is(err, fs.ErrNotExist):
		return &FileError{path, "is missing, though the run was finished: it was removed since", err}
	case err != nil:
		return err
	}
	defer f.Close()
	if !listed {
		return &FileError{Path: path, Problem: "was not there when the run was finished: it was put there since"}
	}
	if size == want.Bytes {
		if got, err := sumOf(f); err != nil || got == want {
			return err
		}
	}
	return &FileError{Path: path, Problem: "is not as it was when the run was finished: it was damaged or changed since, and nothing that the record says can be relied on"}
}

// readSums reads the sums of a finished record of this form.
func (r *Record) readSums() error {
	var s sums
	switch err := r.read(sumsFile, &s); {
	case errors.Is(err, fs.ErrNotExist):
		return &FileError{r.path(sumsFile), "is missing, though the run was finished: it was removed since", err}
	case err != nil:
		return err
	}
	if s.Schema != sumsSchema {
		return fmt.Errorf("%s has the form %.50q, this govrig reads %q", r.shown(sumsFile), s.Schema, sumsSchema)
	}
	r.sums = &s
	return nil
}
