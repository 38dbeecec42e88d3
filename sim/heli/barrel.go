package heli

import "math"

// RoundBarrel is a Throttle table of n values for a barrel carburettor whose
// bore and barrel hole are round and equal and slide apart in proportion to
// the servo's travel, shut at PulseLow and fully open at PulseHigh: the lens
// of two equal circles at distance d of radius r over the circle,
// (2/π)(acos k − k√(1−k²)), k = d/2r (MathWorld, Circle-Circle Intersection).
// It stands in until the linkage's own geometry is known.
func RoundBarrel(n int) []float64 {
	table := make([]float64, n)
	for i := range table {
		k := 1 - float64(i)/float64(n-1)
		table[i] = 2 / math.Pi * (math.Acos(k) - k*math.Sqrt(1-k*k))
	}
	return table
}
