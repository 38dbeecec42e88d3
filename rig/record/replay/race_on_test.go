//go:build race

package replay

// mostFrames ends long procedures early under the race detector, which is ten
// times slower.
const mostFrames = 6_000
