package export

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"

	"govrig/protocol"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
)

// VCD writes the pulses of the board's lines as a value change dump: IEEE Std
// 1364-2005, clause 18. Every tick is a whole number of time units, so an edge
// stands at exactly its tick.
//
// Edges of the throttle line and of the pickup probe are as the board timed
// them. Leading edges of the pickup line are as the board played them, its
// trailing edges as they were ordered; where the board played pulses of which it does
// not tell when, the line is x. Stick and select are the widths ordered, in µs,
// from the moment of the frame that the order answers.
func VCD(w io.Writer, rec *runlog.Record) error {
	unit, perTick, err := timescale(int64(rec.Info.TickHz))
	if err != nil {
		return err
	}
	if err := soundLines(rec); err != nil {
		return err
	}
	d := dump{b: bufio.NewWriterSize(w, 1<<16), perTick: perTick, hz: float64(rec.Info.TickHz), written: -1}
	d.head(rec, unit)
	err = replay.Lines(rec, replay.Watch{Settings: d.settings, Order: d.order, Pulse: d.pulse, Frame: d.frame})
	if err != nil {
		return err
	}
	d.flush(never)
	if err := d.b.Flush(); err != nil { // bufio keeps the first error
		return err
	}
	return nil
}

// timescale gives the longest unit of which a tick is a whole number, and that
// number. IEEE 1364 knows 1, 10 and 100 of s, ms, µs, ns, ps and fs.
func timescale(hz int64) (unit string, perTick int64, err error) {
	perSecond := int64(1)
	for _, name := range []string{"s", "ms", "us", "ns", "ps", "fs"} {
		for _, count := range []string{"100", "10", "1"} {
			if name == "s" && count != "1" {
				continue
			}
			if hz > 0 && perSecond%hz == 0 {
				return count + " " + name, perSecond / hz, nil
			}
			perSecond *= 10
		}
	}
	return "", 0, fmt.Errorf("a tick of 1/%d s is no whole number of femtoseconds", hz)
}

// never is after every edge.
const never = int64(1) << 62

// oldest is how long after its beginning a pulse may become known, in ticks:
// the board tells moments by their low 24 bits.
const oldest = 1 << 24

// restTicks is the least rest of the pickup line between two pulses; the board
// cuts a pulse short for it.
const restTicks = 1_600

// Signals by their identifiers in the file.
const (
	pickupID   = '!'
	throttleID = '"'
	probeID    = '%'
	stickID    = '&'
	selectID   = '\''
)

// change is one value change.
type change struct {
	at    int64 // ticks
	id    byte
	value string
}

// dump orders value changes by time and writes them.
type dump struct {
	b       *bufio.Writer
	perTick int64
	hz      float64
	pending []change // sorted by time
	written int64    // the moment written last
	last    [256]string

	ordered      [256]uint16
	active, idle map[byte]string // levels
	fall         int64           // end of the last pickup pulse
	played       bool
}

func (d *dump) head(rec *runlog.Record, unit string) {
	fmt.Fprintf(d.b, "$comment %s $end\n", runlog.Provenance(rec.Info.Virtual, rec.Info.Subject))
	fmt.Fprintf(d.b, "$comment One tick of the board is %d time units. Trailing edges of the pickup line are as ordered. $end\n", d.perTick)
	fmt.Fprintf(d.b, "$date %s $end\n$version govrig %s $end\n$timescale %s $end\n", rec.Info.Started, rec.Info.Tool, unit)
	fmt.Fprintf(d.b, "$scope module board $end\n")
	for _, s := range []struct {
		id   byte
		kind string
		name string
	}{
		{pickupID, "wire 1", "pickup"}, {throttleID, "wire 1", "throttle"}, {probeID, "wire 1", "probe"},
		{stickID, "real 64", "stick_us"}, {selectID, "real 64", "select_us"},
	} {
		fmt.Fprintf(d.b, "$var %s %c %s $end\n", s.kind, s.id, s.name)
	}
	fmt.Fprintf(d.b, "$upscope $end\n$enddefinitions $end\n")
	d.initial()
}

// initial gives every signal a value at time 0.
func (d *dump) initial() {
	fmt.Fprintf(d.b, "#0\n$dumpvars\n")
	for _, id := range []byte{pickupID, throttleID, probeID} {
		fmt.Fprintf(d.b, "x%c\n", id)
		d.last[id] = "x"
	}
	for _, id := range []byte{stickID, selectID} {
		fmt.Fprintf(d.b, "r0 %c\n", id)
		d.last[id] = "r0 "
	}
	fmt.Fprintf(d.b, "$end\n")
	d.written = 0
}

// settings takes in the levels of the lines.
func (d *dump) settings(at int64, c *protocol.Configure) {
	level := func(low bool) (active, idle string) {
		if low {
			return "0", "1"
		}
		return "1", "0"
	}
	d.active, d.idle = map[byte]string{}, map[byte]string{}
	d.active[pickupID], d.idle[pickupID] = level(c.Options&protocol.OptionPickupLow != 0)
	captured, other := byte(throttleID), byte(probeID)
	if c.Options&protocol.OptionCaptureProbe != 0 {
		captured, other = other, captured
	}
	d.active[captured], d.idle[captured] = level(c.Options&protocol.OptionCaptureLow != 0)
	d.put(change{at, pickupID, d.idle[pickupID]})
	d.put(change{at, captured, d.idle[captured]})
	d.put(change{at, other, "x"})
	d.played = false
}

func (d *dump) order(at int64, o *protocol.Drive) {
	d.width(at, stickID, o.StickTicks)
	d.width(at, selectID, o.SelectTicks)
}

// width puts a width that was ordered, when it is another.
func (d *dump) width(at int64, id byte, ticks uint16) {
	if d.ordered[id] == ticks {
		return
	}
	d.ordered[id] = ticks
	us := float64(ticks) / d.hz * 1e6
	d.put(change{at, id, "r" + strconv.FormatFloat(us, 'g', -1, 64) + " "})
}

func (d *dump) pulse(p replay.Pulse) {
	if p.Start+p.Width <= 0 {
		return
	}
	id := map[replay.Line]byte{replay.Pickup: pickupID, replay.Throttle: throttleID, replay.Probe: probeID}[p.Line]
	if id == pickupID {
		d.before(p)
		d.fall, d.played = p.Start+p.Width, true
	}
	d.put(change{p.Start, id, d.active[id]})
	d.put(change{p.Start + p.Width, id, d.idle[id]})
}

// before puts right what is on the pickup line before a pulse: an end that was
// cut short, and the pulses between that were not seen.
func (d *dump) before(p replay.Pulse) {
	if d.played && p.Start-restTicks < d.fall {
		i := slices.IndexFunc(d.pending, func(c change) bool { return c.id == pickupID && c.at == d.fall })
		if i >= 0 {
			d.pending = slices.Delete(d.pending, i, i+1)
			d.fall = p.Start - restTicks
			d.put(change{d.fall, pickupID, d.idle[pickupID]})
		}
	}
	if p.Unseen > 0 && d.played && d.fall+1 < p.Start {
		d.put(change{d.fall + 1, pickupID, "x"})
	}
}

// put adds a change, in place of one of the same signal and moment. What began
// before time 0 is there at time 0.
func (d *dump) put(c change) {
	c.at = max(0, c.at)
	i := len(d.pending)
	for i > 0 && d.pending[i-1].at > c.at {
		i--
	}
	for k := i - 1; k >= 0 && d.pending[k].at == c.at; k-- {
		if d.pending[k].id == c.id {
			d.pending[k].value = c.value
			return
		}
	}
	d.pending = slices.Insert(d.pending, i, c)
}

// enough is how many changes wait before any are written.
const enough = 4_000

func (d *dump) frame(at int64) {
	if len(d.pending) > enough {
		d.flush(at - oldest)
	}
}

// flush writes the changes before the given moment.
func (d *dump) flush(before int64) {
	n := 0
	for ; n < len(d.pending) && d.pending[n].at < before; n++ {
		c := d.pending[n]
		if d.last[c.id] == c.value {
			continue
		}
		d.last[c.id] = c.value
		if c.at != d.written {
			d.written = c.at
			fmt.Fprintf(d.b, "#%d\n", c.at*d.perTick)
		}
		fmt.Fprintf(d.b, "%s%c\n", c.value, c.id)
	}
	d.pending = slices.Delete(d.pending, 0, n)
}
