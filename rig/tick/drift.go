package tick

import (
	"math"
	"slices"
)

// drift is what the windows show of the clock.
type drift struct {
	fast, uncertainty float64 // shares
	span              float64 // s, from the first window to the last
	agreed            bool    // parts of the run agree, and most of it was steady
}

const (
	windowsMin = 6 // fewer show nothing
	pieceMin   = 4 // windows between two steps that are of use
	nearby     = 3 // windows on either side that show what goes on
	// A change from one window to the next is a step when it is so many times the
	// usual one, and so many times the spacing of the frames: a host that is told
	// of frames by a timer of its own sees each drift as many steps of a spacing.
	stepFactor, stepSpacings = 8, 1.5
	// steadyShare of the windows has to lie in pieces that are of use.
	steadyShare = 0.75
	// margin is how many times the width of the band of least delays is taken for
	// the error of its ends.
	margin = 3
	// partsOfRun have to agree on the drift; partsMargin is by how much more than their uncertainty the drifts of parts
	// may differ, as a share: resonators follow their temperature.
	partsOfRun, partsMargin = 6, 1e-4
)

// drift fits one slope to all pieces between steps, and to each sixth of the
// run. The newest window is not full yet and left out.
func (c *ClockError) drift() (d drift, seen bool) {
	n := len(c.windows) - 1
	if n < windowsMin {
		return drift{}, false
	}
	spacing := c.windows[n].at / float64(c.frames) // no delay is known better: a host that looks now and then sees no less
	all := pieces(c.windows[:n], spacing)
	whole, ok := fit(all, spacing)
	if !ok {
		return drift{}, false
	}
	d = drift{fast: whole.fast(), uncertainty: whole.uncertainty, span: c.windows[n-1].at - c.windows[0].at}
	d.agreed = float64(whole.count) >= steadyShare*float64(n)
	if d.span < knownSpan {
		return d, true
	}
	var parts []line
	for i := range partsOfRun {
		if part, ok := fit(pieces(c.windows[i*n/partsOfRun:(i+1)*n/partsOfRun], spacing), spacing); ok {
			parts = append(parts, part)
		}
	}
	for _, p := range parts {
		d.uncertainty = math.Max(d.uncertainty, math.Abs(p.slope-whole.slope))
		for _, q := range parts {
			d.agreed = d.agreed && math.Abs(p.slope-q.slope) <= p.uncertainty+q.uncertainty+partsMargin
		}
	}
	return d, true
}

// pieces cuts the windows where their least delay makes a step, and leaves out
// what is too short between two of them.
func pieces(all []window, spacing float64) (out [][]window) {
	if len(all) < pieceMin {
		return nil
	}
	slopes := make([]float64, len(all)-1)
	for i := range slopes {
		slopes[i] = (all[i+1].delay - all[i].delay) / (all[i+1].at - all[i].at)
	}
	sizes := make([]float64, len(slopes)) // of changes beyond what goes on around them
	for i := range slopes {
		around := slopes[max(0, i-nearby):min(len(slopes), i+nearby+1)]
		sizes[i] = math.Abs(slopes[i]-median(around)) * (all[i+1].at - all[i].at)
	}
	limit := math.Max(stepFactor*median(sizes), stepSpacings*spacing)
	from := 0
	for i := range all {
		if i == len(all)-1 || sizes[i] > limit {
			if i+1-from >= pieceMin {
				out = append(out, all[from:i+1])
			}
			from = i + 1
		}
	}
	return out
}

func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}

// line is a slope that several pieces share.
type line struct {
	slope, uncertainty float64
	count              int // windows
}

// fast is the share by which a board is fast whose delays have the slope: it
// counts 1/(1+slope) nominal seconds in one.
func (l line) fast() float64 { return -l.slope / (1 + l.slope) }

// fit gives the slope by least squares with an offset for each piece. Its
// uncertainty is that of a line through a band as wide as the farthest points
// are apart, or as the spacing of the frames, and as long as the pieces.
func fit(all [][]window, spacing float64) (l line, ok bool) {
	var xx, xy float64
	for _, piece := range all {
		mean := 0.
		for _, w := range piece {
			mean += w.at / float64(len(piece))
		}
		for _, w := range piece {
			dx := w.at - mean
			xx += dx * dx
			xy += dx * w.delay
		}
		l.count += len(piece)
	}
	if xx == 0 {
		return line{}, false
	}
	l.slope = xy / xx
	width := 0.
	for _, piece := range all {
		low, high := math.Inf(1), math.Inf(-1)
		for _, w := range piece {
			off := w.delay - l.slope*w.at
			low, high = math.Min(low, off), math.Max(high, off)
		}
		width = math.Max(width, high-low)
	}
	length := math.Sqrt(12 * xx / float64(l.count)) // of evenly spread points
	l.uncertainty = math.Max(margin*width, spacing) / length
	return l, true
}
