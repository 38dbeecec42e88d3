package table

import (
	"math"

	"govrig/rig/measure/hunting"
	"govrig/rig/measure/logfile"
)

// Rows are handed over batchSize at a time: one batch is filled while others are
// looked at.
const batchSize, batches = 4096, 3

// scan looks for hunting beside the reading of the log, which takes as long: it
// hands the rows over, in order, to a goroutine of its own.
type scan struct {
	rows       []logfile.Row // that wait; one without a time is a cut
	full, free chan []logfile.Row
	found      chan hunting.Summary
}

func newScan(c hunting.Config) *scan {
	s := &scan{full: make(chan []logfile.Row, 1), free: make(chan []logfile.Row, batches), found: make(chan hunting.Summary, 1)}
	for range batches {
		s.free <- make([]logfile.Row, 0, batchSize)
	}
	s.rows = <-s.free
	go s.run(s.full, hunting.NewScanner(c))
	return s
}

func (s *scan) run(full <-chan []logfile.Row, scanner *hunting.Scanner) {
	for rows := range full {
		for _, r := range rows {
			if math.IsNaN(r.Time) {
				scanner.Cut()
			} else {
				scanner.Add(r.Time, r.Speed, r.Throttle)
			}
		}
		s.free <- rows[:0]
	}
	s.found <- scanner.Summary()
}

// add takes the next row.
func (s *scan) add(r logfile.Row) {
	if s.rows = append(s.rows, r); len(s.rows) == batchSize {
		s.full <- s.rows
		s.rows = <-s.free
	}
}

// cut ends a stretch: what follows is looked at by itself.
func (s *scan) cut() { s.add(logfile.Row{Time: math.NaN()}) }

// summary ends the scan and waits for what it found.
func (s *scan) summary() hunting.Summary {
	s.full <- s.rows
	s.end()
	return <-s.found
}

// end ends the scan, unless it has ended.
func (s *scan) end() {
	if s.full != nil {
		close(s.full)
		s.full = nil
	}
}
