package runlog

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"govrig/protocol/harmless"
)

// Last is the name by which Find finds the newest record.
const Last = "last"

// List opens those records in the folder runs that are wanted, oldest first, and looks
// at their small files. unreadable tells of records that cannot be read.
func List(runs string, wanted func(*Summary) bool) (records []*Record, unreadable []error, err error) {
	all, err := Summaries(runs)
	if err != nil {
		return nil, nil, err
	}
	for i := range all {
		s := &all[i]
		if s.Ended == Damaged {
			unreadable = append(unreadable, errors.New(s.Problem))
			continue
		}
		if !wanted(s) {
			continue
		}
		r, err := look(filepath.Join(runs, s.Run))
		if err != nil { // it was changed just now
			unreadable = append(unreadable, err)
			continue
		}
		records = append(records, r)
	}
	return records, unreadable, nil
}

// Alike picks the records of the same procedure and machine as one of some runs.
func Alike(runs []*Record) func(*Summary) bool {
	return func(s *Summary) bool {
		return slices.ContainsFunc(runs, func(r *Record) bool {
			return s.Procedure == r.Info.Procedure && s.Machine == r.Info.Machine
		})
	}
}

// Find opens the record that a person means: the path of its folder, its name
// in the folder runs, or Last for the newest one there that can be read.
func Find(runs, name string) (*Record, error) {
	if name == Last {
		all, err := Summaries(runs)
		if err != nil {
			return nil, err
		}
		for _, s := range slices.Backward(all) {
			if s.Ended != Damaged {
				return Open(filepath.Join(runs, s.Run))
			}
		}
		return nil, fmt.Errorf("there is no run in %s", runs)
	}
	for _, dir := range []string{name, filepath.Join(runs, name)} {
		if stampOf(dir) != "" {
			return Open(dir)
		}
	}
	if err := Readable(runs); err != nil {
		return nil, err
	}
	return nil, fmt.Errorf("there is no run %q, neither as a folder nor in %s", name, runs)
}

// Started is when the run began, by the host's clock; the zero time where that
// was not kept.
func (r *Record) Started() time.Time {
	at, err := time.Parse(time.RFC3339, r.Info.Started)
	if err != nil {
		return time.Time{}
	}
	return at
}

// Name is the name of the record's folder, to be shown.
func (r *Record) Name() string { return harmless.Line(filepath.Base(r.Dir)) }

// Length is how long the run lasted, s of the board. Of a run that was cut off
// it is the moment of the last sample.
func (r *Record) Length() (float64, error) {
	ticks := int64(0)
	if r.End != nil {
		ticks = r.End.Ticks
	} else if err := r.Samples(func(s *Sample) bool { ticks = s.Ticks; return true }); err != nil {
		return 0, err
	}
	return float64(ticks) / float64(r.Info.TickHz), nil
}
