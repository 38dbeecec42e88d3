//go:build race

package runlog_test

// Fewer moments under the race detector, which is ten times slower; the checks
// try all fifty without it.
const kills, fulls = 5, 4
