package table

import (
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/logfile"
)

const (
	beforeTime = 2.0     // s in which the level before an event is read
	mostHeld   = 1 << 18 // samples kept of either side
	restBefore = 1.0     // s for which a load must have stood before it changes
)

// collector keeps what the measures need of a log that goes by.
type collector struct {
	event    float64 // NaN until it is known
	given    bool    // the person named the event
	until    float64
	earliest float64 // of the window before

	before, after measure.Series
	full          bool // after has all that it may hold

	scan  *scan
	load  loadWatch
	whole extent
}

// extent is the running range, mean and spacing of the speed.
type extent struct {
	n              int
	first, last    float64 // s
	low, high      float64
	lastSpeed      float64
	area           float64 // ∫ speed dt
	shortest, gap  float64 // between samples, s
	gapFrom, gapTo float64
}

func (e *extent) add(r logfile.Row) {
	if e.n == 0 {
		*e = extent{first: r.Time, low: r.Speed, high: r.Speed, shortest: math.Inf(1)}
	} else {
		dt := r.Time - e.last
		e.area += dt * (r.Speed + e.lastSpeed) / 2
		e.shortest = math.Min(e.shortest, dt)
		if dt > e.gap {
			e.gap, e.gapFrom, e.gapTo = dt, e.last, r.Time
		}
	}
	e.n++
	e.last, e.lastSpeed = r.Time, r.Speed
	e.low, e.high = math.Min(e.low, r.Speed), math.Max(e.high, r.Speed)
}

func (e *extent) mean() float64 { return e.area / (e.last - e.first) }

func (e *extent) interval() float64 { return (e.last - e.first) / float64(e.n-1) }

// loadWatch finds the moments at which a load that stood still changes.
type loadWatch struct {
	known     bool
	value     float64
	from      float64 // value at the first change
	since     float64 // time of the last change
	direction float64 // of the change at the event
}

// change reports whether the load leaves a level on which it had rested.
func (l *loadWatch) change(r logfile.Row) bool {
	if math.IsNaN(r.Load) {
		return false
	}
	if !l.known {
		l.known, l.value, l.since = true, r.Load, r.Time
		return false
	}
	if r.Load == l.value {
		return false
	}
	rested := r.Time-l.since >= restBefore
	l.from, l.value, l.since = l.value, r.Load, r.Time
	return rested
}

func newCollector(o Options) *collector {
	c := &collector{event: math.NaN(), until: math.Inf(1), earliest: math.Inf(-1), scan: newScan(o.Hunting)}
	if o.Event != nil {
		c.event, c.given = *o.Event, true
	}
	if o.Until != nil {
		c.until = *o.Until
	}
	return c
}

// add takes the next row.
func (c *collector) add(r logfile.Row) {
	if r.Time > c.until {
		return
	}
	changed := c.load.change(r)
	c.watchGap(r)
	c.whole.add(r)
	if changed {
		c.changed(r)
	}
	if r.Time >= c.event {
		c.addAfter(r)
	} else {
		c.addBefore(r)
	}
	c.scan.add(r)
}

// watchGap keeps the scan for hunting from reaching across a gap.
func (c *collector) watchGap(r logfile.Row) {
	if c.whole.n > 2 && r.Time-c.whole.last > 10*c.whole.interval() {
		c.scan.cut()
	}
}

// near is how far a change of load may lie from the event that the person
// named and still be that event, s.
const near = 0.1

// changed takes a change of load as the event, or as its end.
func (c *collector) changed(r logfile.Row) {
	direction := math.Copysign(1, c.load.value-c.load.from)
	switch {
	case math.IsNaN(c.event):
		c.event, c.load.direction = r.Time, direction
	case math.Abs(r.Time-c.event) <= near:
		c.load.direction = direction
	case r.Time > c.event:
		c.full = true
	default: // an earlier event: the level before is read after it
		c.earliest = r.Time
	}
}

func (c *collector) addBefore(r logfile.Row) {
	c.before.T, c.before.Y = append(c.before.T, r.Time), append(c.before.Y, r.Speed)
	if n := len(c.before.T); n >= 2*mostHeld || (n > 256 && c.before.T[n/2] < r.Time-beforeTime) {
		c.before.T = append(c.before.T[:0], c.before.T[n/2:]...)
		c.before.Y = append(c.before.Y[:0], c.before.Y[n/2:]...)
	}
}

func (c *collector) addAfter(r logfile.Row) {
	if len(c.after.T) == 0 {
		c.scan.cut() // the window after an event is looked at by itself
	}
	if c.full = c.full || len(c.after.T) >= mostHeld; c.full {
		return
	}
	c.after.T, c.after.Y = append(c.after.T, r.Time), append(c.after.Y, r.Speed)
}

// window is the log around its event.
func (c *collector) window() measure.Series {
	b := c.before.Between(math.Max(c.earliest, c.event-beforeTime), math.Inf(1))
	if b.Len() < 16 { // slowly sampled: take what there is
		b = c.before.Between(c.earliest, math.Inf(1))
	}
	return measure.Series{
		T: append(append([]float64{}, b.T...), c.after.T...),
		Y: append(append([]float64{}, b.Y...), c.after.Y...),
	}
}
