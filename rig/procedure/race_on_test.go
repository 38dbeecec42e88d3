//go:build race

package procedure

// healthySeeds is fewer under the race detector, which is ten times slower; the
// checks run the two hundred without it.
const healthySeeds = 20
