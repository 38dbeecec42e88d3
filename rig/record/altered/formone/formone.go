// Package formone is for tests that need a run record of form 1, which older
// versions of govrig wrote: FORMAT.md of the run record says how it differs.
package formone

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"govrig/protocol/frame"
	"govrig/rig/runlog"
)

// Rewrite makes a record of form 1 of the one in dir.
func Rewrite(dir string) error {
	rec, err := runlog.Open(dir)
	if err != nil {
		return err
	}
	path := func(name string) string { return filepath.Join(dir, name) }
	samples, err := samples(rec)
	if err != nil {
		return err
	}
	wire, err := wire(rec)
	if err != nil {
		return err
	}
	info, err := os.ReadFile(path("run.json"))
	if err != nil {
		return err
	}
	info = bytes.Replace(info, []byte(`"govrig/run/2"`), []byte(`"govrig/run/1"`), 1)
	err = errors.Join(
		os.WriteFile(path("run.json"), info, 0o644),
		os.WriteFile(path("samples.csv"), samples, 0o644), os.WriteFile(path("wire.bin"), wire, 0o644),
		os.Remove(path("samples.bin")),
	)
	if rec.End != nil {
		err = errors.Join(err, os.Remove(path("sums.json")))
	}
	return err
}

// samples are lines of decimal numbers.
func samples(rec *runlog.Record) ([]byte, error) {
	b := []byte("time_s,speed_rpm,played_rpm,head_rpm,throttle_us,opening_percent," +
		"torque_nm,load_nm,collective_deg,stick_us,select_us,phase\n")
	const rpm = 60 / (2 * math.Pi)
	err := rec.Samples(func(s *runlog.Sample) bool {
		b = fmt.Appendf(b, "%.8f,%.2f,%.2f,%.3f,%.2f,%.3f,%.5f,%.5f,%.3f,%.1f,%.1f,%d\n",
			float64(s.Ticks)/float64(rec.Info.TickHz), s.State.EngineSpeed*rpm, s.Played*rpm, s.State.HeadSpeed*rpm,
			s.Throttle*1e6, s.State.Opening*100, s.State.EngineTorque, s.State.LoadTorque, s.Collective*180/math.Pi,
			float64(s.Stick)/1e3, float64(s.Select)/1e3, s.Phase)
		return true
	})
	return b, err
}

// wire is the entries, each with its own check.
func wire(rec *runlog.Record) (b []byte, err error) {
	w, err := rec.Wire()
	if err != nil {
		return nil, err
	}
	for {
		e, err := w.Next()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = nil
			}
			return b, errors.Join(err, w.Close())
		}
		start := len(b)
		b = append(b, byte(e.Kind))
		b = binary.LittleEndian.AppendUint16(b, uint16(len(e.Bytes)))
		b = append(b, e.Bytes...)
		b = binary.LittleEndian.AppendUint16(b, frame.CRC(b[start:]))
	}
}
