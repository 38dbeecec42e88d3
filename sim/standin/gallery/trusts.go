package gallery

import "math"

// trust says what interval between pulses a governor believes in.
type trust interface {
	// pulse takes in a pulse and gives the interval, ticks, that it is taken to
	// end; ok is false where it ends none. While the governor is not engaged,
	// none is doubted.
	pulse(tick int64, engaged bool) (interval float64, ok bool)
	// failing reports whether so many pulses were out of place that the pickup
	// counts as failed.
	failing() bool
	reset()
}

// plain believes everything.
type plain struct{ last int64 }

func (t *plain) pulse(tick int64, _ bool) (float64, bool) {
	interval, begun := float64(tick-t.last), t.last != 0
	t.last = tick
	return interval, begun
}
func (*plain) failing() bool { return false }
func (t *plain) reset()      { t.last = 0 }

// guarded leaves out a pulse that comes too soon, and an interval that is too
// long, as no engine changes its speed so much from one turn to the next. When
// long ones are more than one in five, the pickup is failing.
type guarded struct {
	always   bool // on guard while the governor is not engaged, too
	last     int64
	interval float64
	score    float64
}

const (
	soonest, latest             = 0.62, 1.6
	perLong, perGood, mostScore = 1, 0.25, 10
)

func (t *guarded) pulse(tick int64, engaged bool) (float64, bool) {
	raw, begun := float64(tick-t.last), t.last != 0
	doubt := t.interval > 0 && (engaged || t.always)
	if doubt && raw < soonest*t.interval {
		return 0, false
	}
	t.last = tick
	if doubt && raw > latest*t.interval {
		t.score += perLong
		return 0, false
	}
	t.score = math.Max(0, t.score-perGood)
	if begun {
		t.interval = raw
	}
	return raw, begun
}
func (t *guarded) failing() bool { return t.score > mostScore }
func (t *guarded) reset()        { *t = guarded{always: t.always} }

// locking takes a long interval for one with pulses missing, and divides it by
// the nearest whole number. One that is too short it leaves out as a stray
// pulse, until they are too many: then it believes them. So pulses that come
// doubled for a while, and the engine slowing meanwhile, leave it dividing: it
// reads twice the speed from then on.
type locking struct {
	last     int64
	interval float64
	short    float64 // strays, less half of the pulses in place
}

// manyStrays are believed.
const manyStrays = 10

func (t *locking) pulse(tick int64, engaged bool) (float64, bool) {
	raw, begun := float64(tick-t.last), t.last != 0
	switch {
	case !engaged || t.interval == 0:
	case raw < soonest*t.interval && t.short < manyStrays:
		t.short++
		return 0, false
	default:
		raw /= math.Max(1, math.Round(raw/t.interval))
	}
	t.short = math.Max(0, t.short-0.5)
	t.last = tick
	if begun {
		t.interval = raw
	}
	return raw, begun
}
func (*locking) failing() bool { return false }
func (t *locking) reset()      { *t = locking{} }

// blanking leaves out a pulse that comes sooner than 0.7 of the interval before,
// as a guard against stray ones, and long intervals until there are too many:
// then it believes them. So after a few bursts of missing pulses it takes a
// multiple of the interval for the true one, and the pulses between for strays:
// it reads a part of the speed from then on.
type blanking struct {
	last     int64
	interval float64
	long     float64 // long intervals, less a hundredth of the good ones
}

const (
	blank    = 0.7
	manyLong = 3
)

func (t *blanking) pulse(tick int64, engaged bool) (float64, bool) {
	raw, begun := float64(tick-t.last), t.last != 0
	doubt := engaged && t.interval > 0
	if doubt && raw < blank*t.interval {
		return 0, false
	}
	t.last = tick
	if doubt && raw > latest*t.interval {
		if t.long++; t.long < manyLong {
			return 0, false
		}
	}
	t.long = math.Max(0, t.long-0.01)
	if begun {
		t.interval = raw
	}
	return raw, begun
}
func (*blanking) failing() bool { return false }
func (t *blanking) reset()      { *t = blanking{} }
