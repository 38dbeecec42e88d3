package mounting

import (
	"math"
	"sort"

	"govrig/rig/measure/train"
	"govrig/sim/pickup"
)

// Cause is a mounting that gives what was seen.
type Cause struct {
	Change Change
	// Params is the mounting, at Gap.
	Params pickup.Params
	// Gap gives what was seen most nearly, m, or, where many do, is the one
	// nearest to the file's; all from Low to High fit within the reading's
	// tolerance.
	Gap, Low, High float64
	// Unlikely is 0 for the file's own mounting and gap, more for others: the
	// natural logarithm of how wrong the file's gap would be, and something for
	// a change.
	Unlikely float64
}

// How many times its least gap a cause's largest may be, and still tell the gap
// to a value, or at all.
const (
	flat  = 2
	vague = 3
)

// Tells says whether what was seen tells the gap.
func (c Cause) Tells() bool { return c.High < vague*c.Low }

// Book holds what a machine's magnet and sensor give in every mounting that
// differs in one thing from the machine file's, over all gaps.
type Book struct {
	file pickup.Params
	all  []mounting
}

// New works the book out. The error is that of p.Validate.
func New(file pickup.Params) (*Book, error) {
	if err := file.Validate(); err != nil {
		return nil, err
	}
	b := &Book{file: file, all: mountings(file)}
	for i := range b.all {
		if err := b.all[i].grow(); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// Tolerances of a reading.
const (
	relative = 0.03   // of a width or a spacing
	absolute = 0.0003 // of a turn, more
	shifted  = 0.005  // of a turn, for a spacing, more
	steps    = 8      // between two nodes
)

// Explain gives the mountings from which the pulses of a turn can come, the
// likeliest first. How much they scatter widens the tolerance.
func (b *Book) Explain(seen train.Turning) []Cause {
	tolerance := relative + seen.Scatter
	return b.causes(seen.PerTurn, false, func(n node) float64 { return n.mismatch(seen, tolerance) })
}

// Tells says whether the pulses of the file's mounting tell its gap.
func (b *Book) Tells() bool {
	own, err := b.all[0].predict(b.file.Gap)
	if err != nil || own.perTurn == 0 {
		return false
	}
	causes := b.Explain(train.Turning{PerTurn: own.perTurn, Widths: own.widths, Spacings: own.spacings})
	return len(causes) > 0 && causes[0].Tells()
}

// Silent gives the mountings that give no pulses, with the sensor on all the
// time or never, the likeliest first.
func (b *Book) Silent(stuck bool) []Cause {
	return b.causes(0, stuck, func(node) float64 { return 0 })
}

// causes looks through all mountings for nodes that give that many pulses and
// whose mismatch is at most 1.
func (b *Book) causes(perTurn int, stuck bool, mismatch func(node) float64) (causes []Cause) {
	for i := range b.all {
		m := &b.all[i]
		found := run{book: b, mounting: m}
		for k, n := range m.nodes {
			if n.perTurn != perTurn || n.stuck != stuck {
				found.end()
				continue
			}
			found.take(n, mismatch(n))
			if k+1 == len(m.nodes) || !n.like(m.nodes[k+1]) || n.jumps(m.nodes[k+1]) {
				continue
			}
			for s := 1; s < steps; s++ {
				between := n.between(m.nodes[k+1], float64(s)/steps)
				found.take(between, mismatch(between))
			}
		}
		found.end()
		causes = append(causes, found.causes...)
	}
	sort.SliceStable(causes, func(i, k int) bool { return causes[i].Unlikely < causes[k].Unlikely })
	return causes
}

// run gathers gaps next to each other that fit.
type run struct {
	book     *Book
	mounting *mounting
	now      Cause
	best     float64
	easy     float64 // the gap nearest to the file's that fits well
	open     bool
	causes   []Cause
}

func (r *run) take(n node, mismatch float64) {
	if mismatch > 1 {
		r.end()
		return
	}
	if !r.open {
		r.open, r.best, r.easy = true, math.Inf(1), math.Inf(1)
		r.now = Cause{Change: r.mounting.change, Params: r.mounting.params, Low: n.gap}
	}
	r.now.High = n.gap
	if mismatch < r.best {
		r.best, r.now.Gap = mismatch, n.gap
	}
	file := r.book.file.Gap
	if mismatch < 0.5 && math.Abs(n.gap-file) < math.Abs(r.easy-file) {
		r.easy = n.gap
	}
}

func (r *run) end() {
	if !r.open {
		return
	}
	r.open = false
	file := r.book.file.Gap
	near := min(max(file, r.now.Low), r.now.High)
	switch {
	case !r.now.Tells():
		r.now.Gap = near
	case r.now.High > flat*r.now.Low && !math.IsInf(r.easy, 1):
		r.now.Gap = r.easy
	}
	r.now.Unlikely = math.Abs(math.Log(near/file)) + unlikely[r.now.Change]
	r.now.Params.Gap = r.now.Gap
	r.causes = append(r.causes, r.now)
}

// mismatch compares what a node gives with what was seen of as many pulses,
// wherever in the turn one begins to count: 1 is at the edge of the tolerance.
func (n node) mismatch(seen train.Turning, tolerance float64) float64 {
	least := math.Inf(1)
	for first := range n.perTurn {
		worst := 0.0
		for i := range n.perTurn {
			k := (i + first) % n.perTurn
			width, spacing := n.widths[k], n.spacings[k]
			worst = math.Max(worst, math.Abs(seen.Widths[i]-width)/(tolerance*width+absolute))
			worst = math.Max(worst, math.Abs(seen.Spacings[i]-spacing)/(tolerance*spacing+shifted))
		}
		least = math.Min(least, worst)
	}
	return least
}

// jumps reports whether the order of the pulses changes from n to o.
func (n node) jumps(o node) bool {
	return shift(n.spacings, o.spacings) > 0.05 || shift(n.widths, o.widths) > 0.05
}

// shift is the largest difference.
func shift(a, b []float64) (most float64) {
	for i := range a {
		most = math.Max(most, math.Abs(a[i]-b[i]))
	}
	return most
}
