package gallery

import (
	"math"
	"math/rand/v2"
)

// output places throttle pulses. Pulse k begins at start + (k+1)/rate, moved by
// a jitter that is spread evenly; some are left out.
type output struct {
	start  int64
	period float64 // ticks
	jitter float64 // ticks, either way
	drop   float64
	step   float64 // ticks
	sent   int64
	random *rand.Rand
	next   int64
}

func newOutput(p *parts, tickRate float64, start int64) output {
	o := output{
		start: start, period: tickRate / p.frame, jitter: p.jitter * tickRate, drop: p.drop, step: p.step * tickRate,
		random: rand.New(rand.NewPCG(p.seed, 0x6761)),
	}
	o.place()
	return o
}

func (o *output) place() {
	o.sent++
	at := float64(o.sent) * o.period
	if o.jitter > 0 {
		at += o.jitter * (2*o.random.Float64() - 1)
	}
	o.next = o.start + int64(math.Round(at))
}

// width is that of a pulse, in whole ticks; 0 is one left out.
func (o *output) width(ticks float64) int64 {
	if o.drop > 0 && o.random.Float64() < o.drop {
		return 0
	}
	if o.step > 0 {
		ticks = math.Round(ticks/o.step) * o.step
	}
	return int64(math.Round(ticks))
}
