package response

import (
	"math"
	"sort"

	"govrig/rig/measure"
)

// Kind is how a response depends on how far the input sways.
type Kind string

const (
	// Linear: two amplitudes give the same response.
	Linear Kind = "linear"
	// DeadBand: the larger amplitude passes more at every line: a dead band, or
	// the steps of a coarse output, take their share of the smaller.
	DeadBand Kind = "dead band"
	// Dependent: the responses differ in another way; with less at the larger
	// amplitude the output is limited.
	Dependent Kind = "depends on the amplitude"
	// Untold: the lines are too few or too uncertain to tell.
	Untold Kind = "cannot tell"
)

// Comparison is a response at two amplitudes.
type Comparison struct {
	Kind Kind
	// Ratio is the larger amplitude over the smaller.
	Ratio float64
	// Change is the median change of gain from the smaller to the larger
	// amplitude, dB, and ChangeError its standard error; Worst is the greatest
	// change at any line.
	Change, ChangeError, Worst float64
	// Beyond is by what the gain of the larger amplitude has still to be
	// multiplied to be that of one without end, where a dead band is the
	// cause. It is missing for other kinds.
	Beyond measure.Reading
	// Half is half the width of such a dead band, over the root mean square of the
	// smaller input; 0 where there is none.
	Half float64
}

const (
	fewestLines = 4
	clear       = 1.0 // dB; a change of less is none
	leastRatio  = 1.3 // of the amplitudes
)

// Compare sets the responses of a multisine at two amplitudes side by side,
// line by line.
func Compare(smaller, larger []Point) Comparison {
	c := Comparison{Kind: Untold, Beyond: measure.Missing("no dead band was seen")}
	var changes, errors, ratios []float64
	for _, a := range Usable(smaller) {
		for _, b := range Usable(larger) {
			if a.Frequency != b.Frequency {
				continue
			}
			changes = append(changes, 20*math.Log10(b.Gain()/a.Gain()))
			errors = append(errors, 20/math.Ln10*math.Hypot(a.GainError, b.GainError))
			ratios = append(ratios, b.Input/a.Input)
		}
	}
	if len(changes) < fewestLines {
		return c
	}
	c.Ratio, c.Change = median(ratios), median(changes)
	// The median of n values scatters by 1.25 of their mean's standard error.
	c.ChangeError = 1.25 * median(errors) / math.Sqrt(float64(len(changes)))
	if c.Ratio < leastRatio || 3*c.ChangeError > clear {
		return c
	}
	c.judge(changes, errors)
	return c
}

func (c *Comparison) judge(changes, errors []float64) {
	up, differ := 0, 0
	for i, d := range changes {
		if math.Abs(d) > math.Abs(c.Worst) {
			c.Worst = d
		}
		if math.Abs(d) > clear+3*errors[i] {
			differ++
		}
		if d > 0 {
			up++
		}
	}
	n := len(changes)
	switch {
	case c.Change > clear && up*10 >= n*9:
		c.Kind = DeadBand
		var x float64
		x, c.Beyond = beyond(math.Pow(10, c.Change/20), c.Ratio)
		c.Half = x * math.Sqrt2
	case math.Abs(c.Change) > clear || differ*4 > n:
		c.Kind = Dependent
	default:
		c.Kind = Linear
	}
}

// beyond works out from how a dead band passes more at a larger amplitude how wide
// it is, x = d/(σ√2) of the smaller, and what has still to be made of the larger to
// have the gain of one without end. Many lines together have nearly a Gaussian
// distribution, of which a dead band of ±d passes the share erfc(d/(σ√2))
// (random-input describing function, Gelb & Vander Velde, from memory).
func beyond(change, ratio float64) (x float64, most measure.Reading) {
	const widest = 4.0 // it passes next to nothing
	gain := func(x float64) float64 { return math.Erfc(x/ratio) / math.Erfc(x) }
	low, high := 0.0, widest
	if gain(high) < change {
		return 0, measure.Missing("a dead band would have let less through than was seen")
	}
	for range 60 {
		if middle := (low + high) / 2; gain(middle) < change {
			low = middle
		} else {
			high = middle
		}
	}
	return low, measure.Read(1 / math.Erfc(low/ratio))
}

// Median is that of a quantity of all points; NaN where there are none.
func Median(points []Point, of func(p Point) float64) float64 {
	if len(points) == 0 {
		return math.NaN()
	}
	values := make([]float64, len(points))
	for i, p := range points {
		values[i] = of(p)
	}
	return median(values)
}

func median(values []float64) float64 {
	s := append([]float64{}, values...)
	sort.Float64s(s)
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}
