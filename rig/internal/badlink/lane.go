package badlink

import (
	"bytes"
	"math/rand/v2"
	"slices"
)

// lane is one way of the wire: the chunks that are on it.
type lane struct {
	chunks []chunk
	last   int // read at which the newest is due: a wire keeps the order
}

type chunk struct {
	bytes []byte
	due   int // read at which it comes out
}

// longestDelay is how many reads a chunk may be kept back.
const longestDelay = 60

// put lets bytes onto the lane, through the faults that hold at this read.
func (l *lane) put(b []byte, read int, faults []Fault, toBoard bool, rng *rand.Rand) {
	in := chunk{bytes.Clone(b), max(read, l.last)}
	copies := []chunk{in}
	for _, f := range faults {
		if f.ToBoard != toBoard || !f.active(read) {
			continue
		}
		switch f.Kind {
		case Drop:
			copies[0].bytes = drop(copies[0].bytes, rng)
		case Flip:
			flip(copies[0].bytes, rng)
		case Delay:
			copies[0].due += rng.IntN(longestDelay)
		case Duplicate:
			copies = append(copies, chunk{bytes.Clone(copies[0].bytes), copies[0].due})
		case Reorder:
			copies[0].due = f.From + f.For + rng.IntN(f.For)
		case Noise:
			copies[0].bytes = slices.Concat(noise(rng, 40), copies[0].bytes)
		}
	}
	l.chunks = append(l.chunks, copies...)
	if !reordering(faults, read, toBoard) {
		l.last = copies[0].due
	}
}

func reordering(faults []Fault, read int, toBoard bool) bool {
	return slices.ContainsFunc(faults, func(f Fault) bool {
		return f.Kind == Reorder && f.ToBoard == toBoard && f.active(read)
	})
}

// take gives what is due, in the order in which it became due.
func (l *lane) take(read int) (out [][]byte) {
	slices.SortStableFunc(l.chunks, func(a, b chunk) int { return a.due - b.due })
	for len(l.chunks) > 0 && l.chunks[0].due <= read {
		out = append(out, l.chunks[0].bytes)
		l.chunks = l.chunks[1:]
	}
	return out
}

// drop loses all of a chunk, or some bytes of it.
func drop(b []byte, rng *rand.Rand) []byte {
	if len(b) == 0 || rng.IntN(2) == 0 {
		return nil
	}
	from := rng.IntN(len(b))
	return slices.Delete(b, from, from+1+rng.IntN(len(b)-from))
}

// flip turns over one to three bits.
func flip(b []byte, rng *rand.Rand) {
	for range 1 + rng.IntN(3) {
		if len(b) > 0 {
			b[rng.IntN(len(b))] ^= 1 << rng.IntN(8)
		}
	}
}
