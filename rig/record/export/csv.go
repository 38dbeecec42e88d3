// Package export writes a run record in forms that other programs read: CSV
// (RFC 4180), JSON (RFC 8259), and VCD (IEEE Std 1364-2005, clause 18) with the
// pulses of the board's lines.
package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"govrig/rig/phase"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
)

const (
	rpm     = 60 / (2 * math.Pi) // from rad/s
	degrees = 180 / math.Pi      // from rad
)

// column is one column of samples, with its decimals.
type column struct {
	name   string
	digits int
}

// columns of a sample. Times and speeds are true where the board's clock error
// is known; ticks are as the board counted.
var columns = [...]column{
	{"time_s", 7}, {"ticks", 0}, {"speed_rpm", 2}, {"played_rpm", 2}, {"head_rpm", 3}, {"throttle_us", 2},
	{"opening_percent", 3}, {"torque_nm", 5}, {"load_nm", 5}, {"collective_deg", 3}, {"stick_us", 1}, {"select_us", 1},
}

// values gives a sample's columns.
func values(s *runlog.Sample, hz, fast float64) [len(columns)]float64 {
	speed := rpm * (1 + fast)
	return [len(columns)]float64{
		float64(s.Ticks) / hz / (1 + fast), float64(s.Ticks),
		s.State.EngineSpeed * speed, s.Played * speed, s.State.HeadSpeed * speed, s.Throttle * 1e6,
		s.State.Opening * 100, s.State.EngineTorque, s.State.LoadTorque, s.Collective * degrees,
		float64(s.Stick) / 1e3, float64(s.Select) / 1e3,
	}
}

// source is the word for what took part in a run.
func source(rec *runlog.Record) string {
	if rec.Info.Virtual {
		return "VIRTUAL"
	}
	return "bench"
}

// CSV writes the samples. The first line names the columns; the last two are
// the phase by name and, on every line, whether the run was VIRTUAL. With
// semicolon, columns are parted by semicolons and decimals by a comma, as
// spreadsheets of many countries have it.
func CSV(w io.Writer, rec *runlog.Record, semicolon bool) error {
	phases, err := rec.Phases()
	if err != nil {
		return err
	}
	if err := soundSamples(rec); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if semicolon {
		c.Comma = ';'
	}
	line := make([]string, 0, len(columns)+2)
	for _, column := range columns {
		line = append(line, column.name)
	}
	if err := c.Write(append(line, "phase", "source")); err != nil {
		return err
	}
	hz, fast, from := float64(rec.Info.TickHz), replay.Fast(rec), source(rec)
	var failed error
	err = rec.Samples(func(s *runlog.Sample) bool {
		line = line[:0]
		for i, v := range values(s, hz, fast) {
			number := strconv.FormatFloat(v, 'f', columns[i].digits, 64)
			if semicolon {
				number = strings.Replace(number, ".", ",", 1)
			}
			line = append(line, number)
		}
		failed = c.Write(append(line, phaseName(phases, s.Phase), from))
		return failed == nil
	})
	if err != nil {
		return err
	}
	c.Flush()
	if failed == nil {
		failed = c.Error()
	}
	if failed != nil {
		return fmt.Errorf("%w", failed)
	}
	return nil
}

// soundSamples reads all samples, so that nothing is written of a record that turns out to
// be damaged.
func soundSamples(rec *runlog.Record) error {
	return rec.Samples(func(*runlog.Sample) bool { return true })
}

// soundLines does the same for what passed on the wire.
func soundLines(rec *runlog.Record) error { return replay.Lines(rec, replay.Watch{}) }

func phaseName(phases []phase.Key, i int) string {
	if i < 0 || i >= len(phases) {
		return strconv.Itoa(i)
	}
	return phases[i].String()
}
