//go:build !race

package replay

import "math"

// mostFrames: no procedure is stopped.
const mostFrames = math.MaxInt
