// Package badlink is a bad wire: it stands between a host and a board and does
// to their bytes what cables, hubs, drivers and people do. All of it follows
// from a seed.
//
// It has no clock. Its time is counted in reads: on a wire that carries 500
// frames a second one read is about 2 ms of the board's time.
package badlink

import "math/rand/v2"

// Kind is what happens to the wire.
type Kind int

// Kinds of fault. A chunk is what one read or one write carries: a frame.
const (
	// Drop loses bytes out of chunks, or whole chunks.
	Drop Kind = iota
	// Flip turns over single bits.
	Flip
	// Delay keeps chunks back and lets them go later, in order.
	Delay
	// Duplicate carries chunks twice.
	Duplicate
	// Reorder keeps a burst of chunks back and lets it go shuffled.
	Reorder
	// Noise puts stray bytes between chunks.
	Noise
	// Flood puts bytes without a message on the wire by the thousand.
	Flood
	// HangUp takes the wire away for good: the board was unplugged.
	HangUp
	// Reset restarts the board.
	Reset
	// Suspend puts the host to sleep: the board goes on alone, and what it
	// sends meanwhile is lost.
	Suspend

	// Kinds is how many there are.
	Kinds
)

var names = [Kinds]string{"drop", "flip", "delay", "duplicate", "reorder", "noise", "flood", "hang-up", "reset", "suspend"}

func (k Kind) String() string { return names[k] }

// Fault is one thing that goes wrong.
type Fault struct {
	Kind Kind
	// ToBoard tells which way: to the board, or from it. Flood, HangUp, Reset
	// and Suspend have none.
	ToBoard bool
	// From is the read at which it begins, and For how many reads it lasts.
	From, For int
	// Baud is the speed of the wire at which alone it happens; 0 is any.
	Baud int
}

func (f *Fault) active(read int) bool { return read >= f.From && read < f.From+f.For }

// suspendReads is how long a host sleeps: ten seconds.
const suspendReads = 5_000

// Random draws one to three faults that begin within the first reads of a
// wire. The first is of the given kind.
func Random(rng *rand.Rand, first Kind, reads int) (faults []Fault) {
	kind := first
	for range 1 + rng.IntN(3) {
		f := Fault{Kind: kind, ToBoard: rng.IntN(2) == 0, From: rng.IntN(reads), For: 1 + rng.IntN(1<<rng.IntN(9))}
		if kind == Suspend {
			f.For = suspendReads
		}
		faults = append(faults, f)
		kind = Kind(rng.IntN(int(Kinds)))
	}
	return faults
}
