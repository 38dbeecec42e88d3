package runlog

import (
	"errors"
	"fmt"
	"io"

	"govrig/rig/runlog/block"
)

// errStop ends a reading early.
var errStop = errors.New("stop")

func ended(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// Samples gives each sample of the record, in order, with the columns' decimals
// and the phase counted over the whole run; Step is not kept. What is torn at the
// end of a record that was cut off is left out. It ends early when each gives false.
func (r *Record) Samples(each func(*Sample) bool) error {
	return r.samples(allColumns, each)
}

// Heads is Samples, several times as fast, where of each sample only its moment, its
// head speed and its phase are wanted. The others may be 0.
func (r *Record) Heads(each func(*Sample) bool) error {
	return r.samples(headColumns, each)
}

func (r *Record) samples(wanted uint, each func(*Sample) bool) error {
	var seen sampleCheck
	name := samplesFile
	read := func(each func(*Sample) error) error { return r.samplesTwo(wanted, each) }
	if r.older {
		read, name = r.samplesOne, samplesOneFile
	}
	err := read(func(s *Sample) error {
		if err := seen.next(s); err != nil {
			return fmt.Errorf("%s: %w", r.shown(name), err)
		}
		if !each(s) {
			return errStop
		}
		return nil
	})
	switch {
	case errors.Is(err, errStop):
		return nil
	case err == nil && r.End != nil && r.End.Short == "" && seen.n != r.End.Samples:
		return fmt.Errorf("%s has %d samples, the run had %d", r.shown(name), seen.n, r.End.Samples)
	}
	return err
}

func (r *Record) samplesTwo(wanted uint, each func(*Sample) error) (err error) {
	f, size, err := openFile(r.path(samplesFile))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	file := r.blocks(f, samplesFile, size)
	table := rows{}
	read := func(b *block.Reader) error { return table.read(b, wanted) }
	var one row
	var s Sample
	for {
		if err := file.next(read); err != nil {
			return ended(err)
		}
		for k := range table.len() {
			for i, values := range &table {
				if wanted>>i&1 != 0 {
					one[i] = values[k]
				}
			}
			s.take(&one)
			if err := each(&s); err != nil {
				return err
			}
		}
	}
}
