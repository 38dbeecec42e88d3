package runlog

import (
	"cmp"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"govrig/protocol/harmless"
	"govrig/rig/measure"
)

// Summary is what a list tells of a record.
type Summary struct {
	Run       string  `json:"run"` // name of its folder
	Started   string  `json:"started"`
	Procedure string  `json:"procedure"`
	Machine   string  `json:"machine"`
	Speed     string  `json:"speed"`
	Virtual   bool    `json:"virtual"`
	Length    float64 `json:"length_s"`
	// Ended is how it ended, in a word: see Record.Ended.
	Ended string `json:"ended"`
	// Short: the record ends before the run did.
	Short bool `json:"record_short,omitempty"`
	// Problem says why the record cannot be read, where Ended is Damaged.
	Problem string `json:"problem,omitempty"`
}

// Damaged is the Ended of a record that cannot be read.
const Damaged = "damaged"

// Ended is how a run ended, in one word: its outcome where it came to its end.
func (r *Record) Ended() string {
	switch {
	case r.Reason() != Complete:
		return strings.ReplaceAll(r.Reason(), " ", "-")
	case r.End.Outcome == measure.NotRun:
		return "not-run"
	}
	return string(r.End.Outcome)
}

// summary gives what a list tells of the record.
func (r *Record) summary() (Summary, error) {
	length, err := r.Length()
	i := &r.Info
	return Summary{
		Run: filepath.Base(r.Dir), Started: i.Started, Procedure: i.Procedure, Machine: i.Machine, Speed: i.Speed, Virtual: i.Virtual,
		Length: length, Ended: r.Ended(), Short: r.End != nil && r.End.Short != "",
	}, err
}

// Began is when the run began; the zero time where that was not kept.
func (s *Summary) Began() time.Time {
	at, _ := time.Parse(time.RFC3339, s.Started)
	return at
}

// Summaries tells of every record in the folder runs, oldest first, those that cannot
// be read among them. Of a record only the small files are read, and none where the
// index of the folder tells of it and it has not changed. Folders that are no records
// are passed over.
func Summaries(runs string) ([]Summary, error) {
	folder, err := os.ReadDir(runs)
	if err != nil {
		return nil, folderError(runs, err)
	}
	known := readIndex(runs)
	rows := make([]indexRow, len(folder))
	var workers sync.WaitGroup
	n := min(4*runtime.GOMAXPROCS(0), len(folder))
	for k := range n {
		workers.Go(func() {
			for i := k; i < len(folder); i += n {
				rows[i] = known.row(runs, folder[i].Name())
			}
		})
	}
	workers.Wait()
	known.renew(runs, rows)
	var all []Summary
	for i := range rows {
		if rows[i].Stamp != "" {
			all = append(all, rows[i].Summary)
		}
	}
	slices.SortStableFunc(all, func(a, b Summary) int {
		return cmp.Or(a.Began().Compare(b.Began()), cmp.Compare(a.Run, b.Run))
	})
	return all, nil
}

// summarize reads the record in dir.
func summarize(dir string) Summary {
	r, err := look(dir)
	if err == nil {
		var s Summary
		if s, err = r.summary(); err == nil {
			return s
		}
	}
	return Summary{Run: filepath.Base(dir), Ended: Damaged, Problem: harmless.Line(err.Error())}
}
