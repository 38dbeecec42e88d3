package runlog

import (
	"fmt"
	"math"
	"time"

	"govrig/rig/runlog/block"
)

// column is one column of samples.bin: whole numbers of 10^-digits of its unit,
// kept as differences of an order.
type column struct {
	name          string
	digits, order int
}

// columns of a sample; the first counts ticks.
var columns = [...]column{
	{"ticks", 0, 2}, {"speed_rpm", 2, 2}, {"played_rpm", 2, 2}, {"head_rpm", 3, 2}, {"throttle_us", 2, 1},
	{"opening_percent", 3, 1}, {"torque_nm", 5, 1}, {"load_nm", 5, 2}, {"collective_deg", 3, 2},
	{"stick_us", 1, 1}, {"select_us", 1, 1}, {"phase", 0, 1},
}

// row is a sample as it is kept.
type row [len(columns)]int64

// largest is beyond every number that a sample can have, and a float64 still
// tells it from the next.
const largest = 1 << 53

// row gives what is kept of a sample; base is added to its phase.
func (s *Sample) row(base int) (r row, err error) {
	for i, v := range [...]float64{
		0, s.State.EngineSpeed * rpm, s.Played * rpm, s.State.HeadSpeed * rpm, s.Throttle * 1e6,
		s.State.Opening * 100, s.State.EngineTorque, s.State.LoadTorque, s.Collective * degrees,
		float64(s.Stick) / 1e3, float64(s.Select) / 1e3,
	} {
		v = math.Round(v * powers[columns[i].digits])
		if !(math.Abs(v) < largest) {
			return r, fmt.Errorf("%s of the simulation is no number that makes sense", columns[i].name)
		}
		r[i] = int64(v)
	}
	r[0], r[len(r)-1] = s.Ticks, int64(s.Phase+base)
	return r, nil
}

// take makes the sample of a row.
func (s *Sample) take(r *row) {
	value := func(i int) float64 { return float64(r[i]) / powers[columns[i].digits] }
	*s = Sample{Ticks: r[0], Played: value(2) / rpm, Throttle: value(4) / 1e6, Collective: value(8) / degrees}
	s.State.EngineSpeed, s.State.HeadSpeed, s.State.Opening = value(1)/rpm, value(3)/rpm, value(5)/100
	s.State.EngineTorque, s.State.LoadTorque = value(6), value(7)
	s.Stick, s.Select = time.Duration(math.Round(value(9)*1e3)), time.Duration(math.Round(value(10)*1e3))
	s.Phase = int(r[len(r)-1])
}

// rows are samples one behind the other, column by column.
type rows [len(columns)][]int64

func (t *rows) len() int { return len(t[0]) }

func (t *rows) add(r *row) {
	for i, v := range r {
		t[i] = append(t[i], v)
	}
}

func (t *rows) addAll(more *rows) {
	for i := range t {
		t[i] = append(t[i], more[i]...)
	}
}

func (t *rows) clear() {
	for i := range t {
		t[i] = t[i][:0]
	}
}

// cut takes as many rows from the front as a block has at most.
func (t *rows) cut() (front rows) {
	n := min(t.len(), blockRows)
	for i := range t {
		front[i], t[i] = t[i][:n], t[i][n:]
	}
	return front
}

// append appends one block of all rows to dst.
func (t *rows) append(dst []byte, b *block.Writer) []byte {
	b.Begin(t.len())
	for i, values := range t {
		b.Ints(values, columns[i].order)
	}
	return b.Append(dst)
}

// Sets of columns, a bit each.
const (
	allColumns  = 1<<len(columns) - 1
	headColumns = 1<<0 | 1<<3 | 1<<(len(columns)-1)
)

// read reads the wanted columns of a block's rows. Columns beyond those known are
// passed over.
func (t *rows) read(b *block.Reader, wanted uint) (err error) {
	for i := range t {
		if wanted>>i&1 == 0 {
			if err := b.Skip(); err != nil {
				return err
			}
			continue
		}
		if t[i], err = b.Ints(t[i][:0], b.Rows, columns[i].order); err != nil {
			return err
		}
	}
	return nil
}
