//go:build race

package badlink_test

// seeds is fewer under the race detector, which is ten times slower; the
// checks run the thousand without it.
const seeds = 40
