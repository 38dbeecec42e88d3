package runlog

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"time"
)

// samplesOneFile has the samples in form 1: a line a sample (RFC 4180 but for the
// line feed).
const samplesOneFile = "samples.csv"

// header is its first line.
const header = "time_s,speed_rpm,played_rpm,head_rpm,throttle_us,opening_percent," +
	"torque_nm,load_nm,collective_deg,stick_us,select_us,phase\n"

// samplesOne gives the samples of a record of form 1.
func (r *Record) samplesOne(each func(*Sample) error) error {
	n := 0
	var s Sample
	return r.lines(samplesOneFile, func(line []byte) error {
		if n++; n == 1 {
			if string(line)+"\n" != header {
				return fmt.Errorf("%s has other columns than %s", r.shown(samplesOneFile), schemaOne)
			}
			return nil
		}
		if err := s.parse(line, float64(r.Info.TickHz)); err != nil {
			return fmt.Errorf("%s:%d: %w", r.shown(samplesOneFile), n, err)
		}
		return each(&s)
	})
}

// parse reads a line of samples.csv.
func (s *Sample) parse(line []byte, tickRate float64) error {
	var v [len(columns)]float64
	for i := range v {
		field := line
		if comma := bytes.IndexByte(line, ','); comma >= 0 {
			field, line = line[:comma], line[comma+1:]
		} else if i < len(v)-1 {
			return fmt.Errorf("%d columns in place of %d", i+1, len(v))
		}
		var err error
		if v[i], err = parseFixed(field); err != nil {
			return err
		}
	}
	*s = Sample{Ticks: int64(math.Round(v[0] * tickRate)), Played: v[2] / rpm, Throttle: v[4] / 1e6, Collective: v[8] / degrees}
	s.State.EngineSpeed, s.State.HeadSpeed, s.State.Opening = v[1]/rpm, v[3]/rpm, v[5]/100
	s.State.EngineTorque, s.State.LoadTorque = v[6], v[7]
	s.Stick, s.Select = time.Duration(math.Round(v[9]*1e3)), time.Duration(math.Round(v[10]*1e3))
	s.Phase = int(v[11])
	return nil
}

// parseFixed reads a number with up to 18 digits and at most 8 decimals fast,
// and any other with strconv.
func parseFixed(b []byte) (float64, error) {
	var n int64
	point := -1
	for i, c := range b {
		switch {
		case c >= '0' && c <= '9':
			n = n*10 + int64(c-'0')
		case c == '.' && point < 0:
			point = i
		case c == '-' && i == 0:
		default:
			return strconv.ParseFloat(string(b), 64)
		}
	}
	decimals := 0
	if point >= 0 {
		decimals = len(b) - 1 - point
	}
	if point == 0 || len(b) == 0 || b[len(b)-1] == '-' || len(b) > 18 || decimals >= len(powers) || n >= 1<<53 {
		return strconv.ParseFloat(string(b), 64)
	}
	v := float64(n) / powers[decimals]
	if b[0] == '-' {
		v = -v
	}
	return v, nil
}
