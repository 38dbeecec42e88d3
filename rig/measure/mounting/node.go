package mounting

import (
	"math"

	"govrig/sim/pickup"
)

// node is what a mounting gives at one gap.
type node struct {
	gap              float64
	perTurn          int
	stuck            bool
	widths, spacings []float64 // of the pulses of one turn, shares of it
}

// Gaps that are looked at, m, each so many times the one before.
const (
	nearest = 1e-4
	widest  = 15e-3
	ratio   = 1.2
	closest = 1.002
	smooth  = 0.06 // that a width changes from one gap to the next, as a share
)

// grow predicts the mounting at all gaps, closer together where what it gives
// changes much.
func (m *mounting) grow() error {
	last, err := m.predict(nearest)
	if err != nil {
		return err
	}
	m.nodes = append(m.nodes, last)
	for gap := nearest * ratio; gap < widest; gap *= ratio {
		next, err := m.predict(gap)
		if err != nil {
			return err
		}
		if err := m.fill(last, next); err != nil {
			return err
		}
		m.nodes = append(m.nodes, next)
		last = next
	}
	return nil
}

// fill adds nodes between two until each is near enough to the next.
func (m *mounting) fill(from, to node) error {
	if from.near(to) || to.gap < closest*from.gap {
		return nil
	}
	middle, err := m.predict(math.Sqrt(from.gap * to.gap))
	if err != nil {
		return err
	}
	if err := m.fill(from, middle); err != nil {
		return err
	}
	m.nodes = append(m.nodes, middle)
	return m.fill(middle, to)
}

// near reports whether what lies between two nodes can be told from them.
func (n node) near(o node) bool {
	if !n.like(o) {
		return false
	}
	for i := range n.widths {
		if math.Abs(n.widths[i]-o.widths[i]) > smooth*n.widths[i] {
			return false
		}
	}
	return true
}

// like reports whether two nodes give as many pulses.
func (n node) like(o node) bool { return n.perTurn == o.perTurn && n.stuck == o.stuck }

func (m *mounting) predict(gap float64) (node, error) {
	p := m.params
	p.Gap = gap
	is, err := pickup.Predict(p)
	if err != nil {
		return node{}, err
	}
	n := node{gap: gap, perTurn: is.PulsesPerRev, stuck: is.Stuck}
	k := len(is.Pulses)
	for i := range n.perTurn {
		pulse, next := is.Pulses[i%k], is.Pulses[(i+1)%k]
		spacing := (next.Operate - pulse.Operate) / (2 * math.Pi)
		if i%k == k-1 { // the next period's first
			spacing += float64(k) / float64(n.perTurn)
		}
		n.widths, n.spacings = append(n.widths, pulse.Width()), append(n.spacings, spacing)
	}
	return n, nil
}

// between is a node a share of the way from n to o, which is like it.
func (n node) between(o node, share float64) node {
	mix := func(a, b []float64) []float64 {
		out := make([]float64, len(a))
		for i := range a {
			out[i] = a[i] + share*(b[i]-a[i])
		}
		return out
	}
	return node{
		gap:     n.gap * math.Pow(o.gap/n.gap, share),
		perTurn: n.perTurn, stuck: n.stuck,
		widths: mix(n.widths, o.widths), spacings: mix(n.spacings, o.spacings),
	}
}
