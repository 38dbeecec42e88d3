//go:build !race

package replay

// mostFrames is how far a procedure goes before it is stopped: far enough for a
// whole sweep, not for a whole tuning.
const mostFrames = 60_000
