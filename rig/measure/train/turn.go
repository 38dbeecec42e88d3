package train

import (
	"math"
	"slices"
)

// Turning is what a pickup gives in each turn of its shaft.
type Turning struct {
	// PerTurn is how many pulses a turn has; Widths are their shares and
	// Spacings the shares from the leading edge of each to the next.
	PerTurn          int
	Widths, Spacings []float64
	// Scatter is how much a pulse's share varies from turn to turn: standard
	// deviation over mean.
	Scatter float64
	// Speed is the mean, turns a second, over the Turns that were read.
	Speed float64
	Turns int
	// Pulses were read, without those Extra: pulses between the regular ones.
	// Missing are places where one should have come.
	Pulses, Missing, Extra int
}

// Width is the mean share of a pulse.
func (t Turning) Width() float64 { return mean(t.Widths) }

// Fold lays a number of parts of the turn, which should be alike, on top of each
// other: even is their mean. spacing is how far the longest or shortest of them
// is from the mean, and width by how much the widths of pulses that should be
// alike differ, both as a share.
func (t Turning) Fold(parts int) (even Turning, spacing, width float64) {
	even, n := t, t.PerTurn/parts
	even.Widths, even.Spacings = make([]float64, t.PerTurn), make([]float64, t.PerTurn)
	for i := range n {
		var widths, spacings []float64
		for k := i; k < t.PerTurn; k += n {
			widths, spacings = append(widths, t.Widths[k]), append(spacings, t.Spacings[k])
		}
		width = math.Max(width, (slices.Max(widths)-slices.Min(widths))/mean(widths))
		for k := i; k < t.PerTurn; k += n {
			even.Widths[k], even.Spacings[k] = mean(widths), mean(spacings)
		}
	}
	for k := 0; k < t.PerTurn; k += n {
		part := 0.0
		for _, s := range t.Spacings[k : k+n] {
			part += s
		}
		spacing = math.Max(spacing, math.Abs(part*float64(parts)-1))
	}
	return even, spacing, width
}

// fewestTurns that make a reading.
const fewestTurns = 3

// Turn reads pulses of which a turn has perTurn. Of a train with pauses it
// reads the longest stretch. ok is false when no three turns in a row are alike.
func Turn(pulses []Pulse, perTurn int) (best Turning, ok bool) {
	for from := 0; from < len(pulses); {
		f := follow(pulses[from:], perTurn)
		if t, turns := f.turning(perTurn); turns && t.Turns > best.Turns {
			best, ok = t, true
		}
		from += max(1, f.used)
	}
	return best, ok
}

// PerTurn is the least number of pulses, up to most, after which the train
// repeats; 0 when it never does.
func PerTurn(pulses []Pulse, most int) int {
	for n := 1; n <= most; n++ {
		if t, ok := Turn(pulses, n); ok && 2*t.Turns*n > len(pulses) && t.Missing+t.Extra == 0 {
			return n
		}
	}
	return 0
}

// Limits within which an interval counts as the one expected, a share of it.
const (
	early, late = 0.7, 1.4
	likeness    = 0.25 // between two turns at the start
)

// follower is a stretch of pulses being followed turn by turn. A place where a
// pulse is missing holds one of negative width.
type follower struct {
	kept           []Pulse
	used           int // pulses of the train
	missing, extra int
	perTurn        int
}

// follow goes along pulses from the first that starts two turns that are alike,
// as far as each is what the turn before lets expect, or one is missing or one
// too many.
func follow(pulses []Pulse, perTurn int) *follower {
	f := &follower{perTurn: perTurn}
	for !alike(pulses[f.used:], perTurn) {
		if f.used++; f.used >= len(pulses) {
			return f
		}
	}
	f.kept = append(f.kept, pulses[f.used:f.used+2*perTurn+1]...)
	f.used += 2*perTurn + 1
	for f.used < len(pulses) && f.take(pulses) {
		f.used++
	}
	return f
}

// alike reports whether the first turn and the one after have the same intervals.
func alike(p []Pulse, perTurn int) bool {
	if len(p) < 2*perTurn+1 {
		return false
	}
	for i := range perTurn {
		first, second := p[i+1].Start-p[i].Start, p[i+perTurn+1].Start-p[i+perTurn].Start
		if math.Abs(first-second) > likeness*math.Min(first, second) {
			return false
		}
	}
	return true
}

// expected is the interval from the m-th pulse after the newest to the next: as
// it was one turn ago, changed as the newest turn's time was from that of the
// one before.
func (f *follower) expected(m int) float64 {
	n := len(f.kept) - 1
	at := n - f.perTurn + m%f.perTurn
	turn, before := f.kept[n].Start-f.kept[n-f.perTurn].Start, f.kept[n-f.perTurn].Start-f.kept[n-2*f.perTurn].Start
	return (f.kept[at+1].Start - f.kept[at].Start) * min(max(turn/before, early), late)
}

// fits reports whether an interval is the expected one.
func fits(interval, expected float64) bool {
	return interval >= early*expected && interval <= late*expected
}

// take takes in the pulse that is next in the train. It is false where the
// shaft has stopped, or nothing can be made of it.
func (f *follower) take(train []Pulse) bool {
	newest, expected := f.kept[len(f.kept)-1].Start, f.expected(0)
	interval, following := train[f.used].Start-newest, math.Inf(1)
	if f.used+1 < len(train) {
		following = train[f.used+1].Start - newest
	}
	if fits(following, expected) && math.Abs(following-expected) < math.Abs(interval-expected) {
		f.extra++
		return true
	}
	missing, ok := f.gap(interval, following-interval)
	if !ok {
		return false
	}
	f.fill(missing, interval)
	f.kept = append(f.kept, train[f.used])
	return true
}

// mostMissing is how many pulses in a row may be missing.
const mostMissing = 6

// gap tells how many pulses are missing in an interval: the number with which
// it comes nearest to what is expected. After a gap the next interval has to be
// as expected too: else the shaft was slowed or stopped.
func (f *follower) gap(interval, following float64) (missing int, ok bool) {
	sum := f.expected(0)
	ok = fits(interval, sum)
	off := math.Abs(interval - sum)
	for m := 1; m <= mostMissing; m++ {
		step := f.expected(m)
		sum += step
		near := math.Abs(interval - sum)
		if near <= (late-1)*step && (near < off || !ok) && fits(following, f.expected(m+1)) {
			missing, off, ok = m, near, true
		}
	}
	return missing, ok
}

// fill puts places into an interval at which pulses are missing.
func (f *follower) fill(missing int, interval float64) {
	sum := 0.0
	for m := range missing + 1 {
		sum += f.expected(m)
	}
	f.missing += missing
	for range missing {
		place := f.kept[len(f.kept)-1].Start + f.expected(0)*interval/sum
		f.kept = append(f.kept, Pulse{place, -1})
	}
}

// turning sums up what was kept.
func (f *follower) turning(perTurn int) (Turning, bool) {
	n := len(f.kept)
	t := Turning{PerTurn: perTurn, Turns: (n - 1) / perTurn, Missing: f.missing, Extra: f.extra, Pulses: n - f.missing}
	if t.Turns < fewestTurns {
		return t, false
	}
	t.Speed = float64(t.Turns) / (f.kept[t.Turns*perTurn].Start - f.kept[0].Start)
	widths, spacings := make([][]float64, perTurn), make([][]float64, perTurn)
	for i := range f.kept[:n-perTurn] {
		turn := f.turn(i)
		spacings[i%perTurn] = append(spacings[i%perTurn], (f.kept[i+1].Start-f.kept[i].Start)/turn)
		if f.kept[i].Width >= 0 {
			widths[i%perTurn] = append(widths[i%perTurn], f.kept[i].Width/turn)
		}
	}
	square := 0.0
	for k := range perTurn {
		if len(widths[k]) == 0 {
			return t, false
		}
		t.Widths = append(t.Widths, mean(widths[k]))
		t.Spacings = append(t.Spacings, mean(spacings[k]))
		square += variance(widths[k]) / (t.Widths[k] * t.Widths[k])
	}
	t.Scatter = math.Sqrt(square / float64(perTurn))
	return t, true
}

// turn is the time of a turn about pulse i: the mean of the one before it, where
// there is one, and the one after, so that a changing speed hardly matters.
func (f *follower) turn(i int) float64 {
	after := f.kept[i+f.perTurn].Start - f.kept[i].Start
	if i < f.perTurn {
		return after
	}
	return (after + f.kept[i].Start - f.kept[i-f.perTurn].Start) / 2
}

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

func variance(values []float64) float64 {
	sum, m := 0.0, mean(values)
	for _, v := range values {
		sum += (v - m) * (v - m)
	}
	return sum / float64(len(values))
}
