package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/sinefit"
)

// sparse is the sampling, s, from which on a swing may be the alias of a
// faster one that an engine can show.
const sparse = 1 / 25.0

// aliased doubts a swing in sparse samples that a frequency beyond half their
// rate describes as well. Uneven samples tell the two apart.
func aliased(f Finding, s measure.Series) Finding {
	interval := s.Interval()
	if f.Kind != Sustained && f.Kind != Small || interval < sparse {
		return f
	}
	part := s.Between(f.From, math.Inf(1))
	seen, err := sinefit.Four(part, f.Frequency)
	for _, other := range []float64{1/interval - f.Frequency, 1/interval + f.Frequency} {
		fit, errOther := sinefit.Four(part, other)
		if err != nil || errOther == nil && fit.Residual < 1.5*seen.Residual+1e-6*f.Amplitude {
			f.Kind = Unknown
			f.Why = fmt.Sprintf("samples %.3g s apart show a swing of %.3g Hz, or one of %.3g Hz that they cannot tell from it",
				interval, f.Frequency, other)
			return f
		}
	}
	return f
}
