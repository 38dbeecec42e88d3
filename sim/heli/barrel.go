package heli

import (
	"math"

	"govrig/sim/linkage"
)

// RoundBarrel is a Throttle table of n values, two or more, for a barrel
// carburettor whose bore and barrel hole are round and equal and slide apart
// in proportion to the servo's travel: shut at PulseLow, fully open at
// PulseHigh. It stands in until the linkage's own geometry is known.
func RoundBarrel(n int) []float64 {
	table := make([]float64, n)
	for i := range table {
		apart := 2 * (1 - float64(i)/float64(n-1))
		table[i] = min(1, linkage.Lens(1, 1, apart)/math.Pi)
	}
	return table
}
