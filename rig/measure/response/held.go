package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"govrig/rig/measure"
)

// heldAmplitudes gives the lines of each whole period, as amplitudes does, of a
// series of which each value holds from its moment until the next:
// (2/P)·∫y·e^{−jωt}dt over a period P.
func heldAmplitudes(s measure.Series, m Multisine, first, periods int) ([][]complex128, error) {
	if err := s.Validate(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrInput, err)
	}
	fits := make([]periodFit, periods)
	for p := range fits {
		from := m.Start + float64(first+p)*m.Period
		if s.T[0] > from {
			return nil, fmt.Errorf("%w: nothing is known from %.3f s to %.3f s", ErrInput, from, s.T[0])
		}
		fits[p] = heldPeriod(s, m, from)
	}
	return level(fits, len(m.Lines)), nil
}

// heldPeriod is the period that begins at from. Of a ramp of slope one the lines are
// 2j/ω each, in closed form.
func heldPeriod(s measure.Series, m Multisine, from float64) periodFit {
	f := periodFit{rampLevel: from + m.Period/2}
	for k := range m.Lines {
		f.lines = append(f.lines, 0)
		f.rampLines = append(f.rampLines, 2i/complex(2*math.Pi*m.Frequency(k), 0))
	}
	turns := make([]complex128, len(m.Lines)) // e^{−jωt} at the beginning of a step
	for k := range turns {
		turns[k] = 1
	}
	i := sort.Search(len(s.T), func(i int) bool { return s.T[i] > from }) - 1
	for at := 0.0; at < m.Period; i++ {
		end := m.Period
		if i+1 < len(s.T) {
			end = min(end, s.T[i+1]-from)
		}
		f.level += s.Y[i] * (end - at) / m.Period
		for k := range turns {
			omega := 2 * math.Pi * m.Frequency(k)
			next := cmplx.Rect(1, -omega*end)
			f.lines[k] += complex(2*(s.Y[i]-s.Y[0])/m.Period, 0) * (next - turns[k]) / complex(0, -omega)
			turns[k] = next
		}
		at = end
	}
	return f
}
