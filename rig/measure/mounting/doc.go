// Package mounting finds out from the pulses of a pickup how its magnet and
// sensor may be mounted.
//
// The field model (sim/pickup) says for any mounting and gap how many pulses a
// turn has and how wide they are. Read backwards, pulses that were seen tell
// which mountings they can come from. One width seldom tells only one: it
// first grows with the gap and falls again near the limit, and a magnet that
// lies on its side gives much the same. So what comes out is a list, the
// likeliest first: what the machine file says before anything else, a gap near
// the file's before one far from it.
package mounting
