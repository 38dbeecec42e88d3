package hunting

import (
	"fmt"
	"math"
)

// judge decides the kind.
func (f *Finding) judge(e *even, c Config, chance, span float64) {
	dying := f.Growth*span < -falling && f.Growth+4*f.GrowthError < 0
	unsure := chance < doubtful || f.Amplitude > large*math.Abs(e.level)
	switch {
	case dying && f.Growth*span > -fallen && f.Amplitude >= c.Least:
		f.Kind = Unknown
		f.Why = fmt.Sprintf("a swing of %.3g at %.3g Hz may be dying away, to 1/e in %.2g s: the window is too short to tell",
			f.Amplitude, f.Frequency, -1/f.Growth)
	case dying:
		f.Kind = Ringing
		f.Why = fmt.Sprintf("an oscillation of %.3g Hz dies away, to 1/e in %.2g s", f.Frequency, -1/f.Growth)
	case f.Amplitude < c.Least && chance <= c.MostChance:
		f.Kind = Small
		f.Why = fmt.Sprintf("a steady swing of %.3g at %.3g Hz is below %.3g", f.Amplitude, f.Frequency, c.Least)
	case f.Amplitude >= c.Least && chance > c.MostChance && unsure:
		f.Kind = Unknown
		f.Why = fmt.Sprintf("a swing of %.3g near %.3g Hz is too unsteady, or seen too briefly, to be told from roughness",
			f.Amplitude, f.Frequency)
	case chance > c.MostChance:
		f.Kind = Noise
		f.Why = fmt.Sprintf("what swings near %.3g Hz comes and goes as noise does", f.Frequency)
	default:
		f.Kind = Sustained
		f.Why = fmt.Sprintf("%.0f cycles of %.3g Hz, as strong at the end as before", f.Frequency*e.span(), f.Frequency)
		if f.Growth*e.span() > fallen && f.Growth > 4*f.GrowthError {
			f.Why = fmt.Sprintf("an oscillation of %.3g Hz grows, by e in %.2g s", f.Frequency, 1/f.Growth)
		}
	}
}
