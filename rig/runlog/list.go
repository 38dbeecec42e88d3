package runlog

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"time"
)

// Last is the name by which Find finds the newest record.
const Last = "last"

// List opens every record in the folder runs, oldest first. Folders that are
// no records are passed over; unreadable tells of records that cannot be read.
func List(runs string) (records []*Record, unreadable []error, err error) {
	entries, err := os.ReadDir(runs)
	if err != nil {
		return nil, nil, folderError(runs, err)
	}
	opened := make([]*Record, len(entries))
	failed := make([]error, len(entries))
	var workers sync.WaitGroup
	n := min(4*runtime.GOMAXPROCS(0), len(entries))
	for k := range n {
		workers.Go(func() {
			for i := k; i < len(entries); i += n {
				opened[i], failed[i] = Open(filepath.Join(runs, entries[i].Name()))
			}
		})
	}
	workers.Wait()
	for i, r := range opened {
		switch {
		case failed[i] == nil:
			records = append(records, r)
		case entries[i].IsDir() && !errors.Is(failed[i], fs.ErrNotExist):
			unreadable = append(unreadable, failed[i])
		}
	}
	slices.SortStableFunc(records, func(a, b *Record) int {
		return cmp.Or(a.Started().Compare(b.Started()), cmp.Compare(a.Dir, b.Dir))
	})
	return records, unreadable, nil
}

// Find finds the record that a person means: the path of its folder, its name
// in the folder runs, or Last for the newest one there.
func Find(runs, name string) (*Record, error) {
	if name == Last {
		records, _, err := List(runs)
		if err != nil {
			return nil, err
		}
		if len(records) == 0 {
			return nil, fmt.Errorf("there is no run in %s", runs)
		}
		return records[len(records)-1], nil
	}
	for _, dir := range []string{name, filepath.Join(runs, name)} {
		if _, err := os.Stat(filepath.Join(dir, infoFile)); err == nil {
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

// Name is the name of the record's folder.
func (r *Record) Name() string { return filepath.Base(r.Dir) }

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
