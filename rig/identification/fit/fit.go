package fit

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// Fit is a law that was found.
type Fit struct {
	Law   Law
	Order Order
	// Error is the standard error of each term that the order has, in its unit.
	Error Law
	// Residual is the root mean square of |H − G|/|H| over the lines, Worst the
	// greatest.
	Residual, Worst float64
	// Trend is how alike the residuals of neighbouring lines are, in standard
	// deviations of what white ones would show.
	Trend float64
	// Misfit is the mean square of the residuals over their errors: 1 where the law
	// explains all but the scatter.
	Misfit float64
	// LeftOut is how many lines were left out, as far off what the others agree on.
	LeftOut int
	// Length is the description length by which the order was chosen.
	Length float64
}

// ErrLines is for too few lines, or such as no law of any order describes.
var ErrLines = errors.New("no law can be fitted")

// fewest lines that make a fit.
const fewest = 6

// Find fits every order to what was measured and gives that with the least
// description length. A few lines that are far off what all others agree on are left
// out, and counted: at them something else sways than the law.
func Find(sets []Set) (*Fit, error) {
	if count(sets) < fewest {
		return nil, fmt.Errorf("%w: %d usable lines are too few", ErrLines, count(sets))
	}
	first := choose(sets)
	if first == nil {
		return nil, fmt.Errorf("%w: the throttle does not close as the speed rises, at no line evenly", ErrLines)
	}
	rest := first.without(sets)
	left := count(sets) - count(rest)
	if left == 0 || left > count(sets)/mostLeftOut {
		return first, nil
	}
	if again := choose(rest); again != nil {
		again.LeftOut = left
		return again, nil
	}
	return first, nil
}

// choose is the fit with the least description length; nil is none.
func choose(sets []Set) *Fit {
	fits, lines := candidates(sets), count(sets)
	if len(fits) == 0 {
		return nil
	}
	// Where not even the richest law explains the scatter, the scatter is larger
	// than it was taken for (the quasi-likelihood of Burnham and Anderson, Model
	// Selection, 2002, from memory).
	scatter := math.Inf(1)
	for _, f := range fits {
		scatter = math.Min(scatter, f.Misfit)
	}
	scatter = math.Max(1, scatter)
	for _, f := range fits {
		f.Length = f.Misfit*f.freedom(lines)/scatter + float64(len(f.Order))*math.Log(float64(2*lines))
	}
	return slices.MinFunc(fits, func(a, b *Fit) int { return sign(a.Length - b.Length) })
}

// count is how many lines there are.
func count(sets []Set) (lines int) {
	for _, s := range sets {
		lines += len(s.Lines)
	}
	return lines
}

const (
	mostLeftOut = 10  // one line in so many, at most
	farOff      = 6.0 // times the median of the weighted residuals
	surely      = 4.0 // and standard errors
)

// without is what was measured without the lines that are far off the law.
func (f *Fit) without(sets []Set) (rest []Set) {
	var all []float64
	off := func(s *Set, l Line) float64 { return cmplx.Abs(l.H-f.Law.At(l.Omega, s)) / l.Sigma }
	for i := range sets {
		for _, l := range sets[i].Lines {
			all = append(all, off(&sets[i], l))
		}
	}
	slices.Sort(all)
	limit := math.Max(farOff*all[len(all)/2], surely)
	for _, s := range sets {
		kept := s
		kept.Lines = slices.DeleteFunc(slices.Clone(s.Lines), func(l Line) bool { return off(&s, l) > limit })
		rest = append(rest, kept)
	}
	return rest
}

func sign(v float64) int {
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}

// candidates are the fits of all orders, each alone and with what several operating
// points can tell.
func candidates(sets []Set) (fits []*Fit) {
	for _, o := range orders {
		first, ok := start(sets, o)
		if !ok {
			continue
		}
		for _, more := range variants {
			if len(sets) < more.sets {
				continue
			}
			l, with := first, slices.Concat(o, more.terms)
			if more.turnsOnly {
				l[Turns], l[DeadTime] = l[DeadTime]/sets[0].Turn, 0
				with = slices.DeleteFunc(with, func(t Term) bool { return t == DeadTime })
			}
			if f := fitted(sets, with, l); f != nil {
				fits = append(fits, f)
			}
		}
	}
	return fits
}

// variants are what several operating points can tell of an order: whether the gain
// grows with the throttle, and whether the age of the speed, or all of it, goes with
// the time of a turn.
var variants = []struct {
	terms     []Term
	turnsOnly bool
	sets      int // operating points that it takes
}{
	{nil, false, 1}, {[]Term{Rise}, false, 2}, {[]Term{Turns}, true, 2}, {[]Term{Turns, Rise}, true, 2},
	{[]Term{Turns}, false, 3}, {[]Term{Turns, Rise}, false, 3},
}

// fitted refines one order from first values; nil where the lines do not tell its
// terms.
func fitted(sets []Set, o Order, first Law) *Fit {
	l, v := refine(sets, o, first)
	if v == nil || l[Rise] <= -1 || l[Turns] < 0 {
		return nil
	}
	f := &Fit{Law: l, Order: o}
	f.residuals(sets)
	for k, t := range o {
		f.Error[t] = math.Sqrt(v.At(k, k) * math.Max(1, f.Misfit))
		if t != Rise && t != Turns { // a logarithm's error is a share
			f.Error[t] *= l[t]
			if f.Error[t] > l[t] {
				return nil // it may as well be none
			}
		}
	}
	return f
}

// residuals works out what the law leaves.
func (f *Fit) residuals(sets []Set) {
	lines, pairs, like, all := 0, 0, 0.0, 0.0
	for i := range sets {
		var before complex128
		for k, line := range sets[i].Lines {
			left := line.H - f.Law.At(line.Omega, &sets[i])
			share := cmplx.Abs(left) / cmplx.Abs(line.H)
			f.Residual += share * share
			f.Worst = math.Max(f.Worst, share)
			e := left / complex(line.Sigma, 0)
			if k > 0 {
				like += real(e * cmplx.Conj(before))
				pairs++
			}
			before = e
			all += real(e * cmplx.Conj(e))
			lines++
		}
	}
	f.Residual = math.Sqrt(f.Residual / float64(lines))
	f.Misfit = all / f.freedom(lines)
	// The real part of the product of neighbours has half the square of their mean
	// square for its variance, where they are white.
	f.Trend = like / (all / float64(lines)) * math.Sqrt(2/float64(max(1, pairs)))
}

// freedom is the degrees of freedom of so many lines.
func (f *Fit) freedom(lines int) float64 { return math.Max(1, float64(2*lines-len(f.Order))) }
