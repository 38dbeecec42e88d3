//go:build !race

package runlog_test

// Moments at which a run is killed, and at which the disk fills.
const kills, fulls = 30, 20
