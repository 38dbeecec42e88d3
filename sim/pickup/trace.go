package pickup

import "math"

// sample is the field in T at an angle of the shaft in rad.
type sample struct{ angle, field float64 }

// trace is the field over one period of the polarity pattern, sampled finely
// where a magnet is near and not at all where the field is nothing.
type trace struct {
	pass    *pass
	samples []sample
}

const (
	samplesPerMagnet = 400
	// reachGaps is how far to look to either side of a magnet, in distances
	// between the element and the magnet's centre. The field of a dipole is
	// there below 0.1 % of its peak.
	reachGaps = 12
)

func newTrace(p Params) *trace {
	t := &trace{pass: newPass(p)}
	away := math.Hypot(p.Gap+p.Sensor.Depth+p.Magnet.reach(p.Axis), p.Offset)
	half := math.Min(p.pitch()/2, reachGaps*away/p.Radius)
	for m := range p.Count / p.repeats() {
		for i := range samplesPerMagnet {
			share := (2*float64(i)+1)/samplesPerMagnet - 1
			angle := float64(m)*p.pitch() + share*half
			t.samples = append(t.samples, sample{angle, t.pass.field(angle)})
		}
	}
	return t
}

// period is the angle after which the trace repeats, rad.
func (t *trace) period() float64 {
	return 2 * math.Pi / float64(t.pass.p.repeats())
}

// peaks are the largest and the smallest field of the trace, T.
func (t *trace) peaks() (high, low float64) {
	high, low = math.Inf(-1), math.Inf(1)
	for i, at := range t.samples {
		high = math.Max(high, math.Max(at.field, t.summit(i, 1)))
		low = math.Min(low, math.Min(at.field, -t.summit(i, -1)))
	}
	return high, low
}

// summit is the top of the parabola through sample i and its neighbours, of
// the field times sign; -Inf where the sample is no top of its own magnet's
// stretch.
func (t *trace) summit(i int, sign float64) float64 {
	if edge := i % samplesPerMagnet; edge == 0 || edge == samplesPerMagnet-1 {
		return math.Inf(-1)
	}
	before, at, after := sign*t.samples[i-1].field, sign*t.samples[i].field, sign*t.samples[i+1].field
	bend := before - 2*at + after
	if at < before || at < after || bend == 0 {
		return math.Inf(-1)
	}
	return at - (before-after)*(before-after)/(8*bend)
}

// withZeros are the samples with one more wherever the field changes sign, so
// that a steep passage through zero is not stepped over.
func (t *trace) withZeros() []sample {
	walk := t.samples[:1:1]
	for i, at := range t.samples[1:] {
		before := t.samples[i]
		if before.field*at.field < 0 {
			zero := bisect(before.angle, at.angle, func(angle float64) bool {
				return t.pass.field(angle)*at.field > 0
			})
			walk = append(walk, sample{zero, 0})
		}
		walk = append(walk, at)
	}
	return walk
}
