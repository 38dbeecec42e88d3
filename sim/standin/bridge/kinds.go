package bridge

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Kind says what a way between computer and board does to the bytes on it. The
// zero Kind does nothing.
type Kind struct {
	// Name is what it is called, a kind of wire.
	Name string
	// About says what it is, for people.
	About string
	// Frame is the time from one USB frame to the next: bytes move at the start
	// of one. 0 is no USB.
	Frame time.Duration
	// Packet is how many bytes from the board are handed on at once, before
	// Timer has run out; 0 is no matter how many.
	Packet int
	// Timer is how long fewer bytes are held, from one handing on to the next; 0
	// is not at all.
	Timer time.Duration
	// Far is a fixed time more, each way.
	Far time.Duration
	// Jitter is the mean time that the computer takes to look at what came. It is
	// exponential, cut at six times the mean.
	Jitter time.Duration
	// Stall is how long the computer now and then does nothing at all, StallEvery
	// the mean time between two such moments.
	Stall, StallEvery time.Duration
}

// Kinds are the modelled wires, those that are usual first. A full-speed USB
// frame is 1 ms (USB 2.0, 8.4.3, from memory). Bridges with a latency timer hand
// on 62 bytes at once and fewer when it runs out, 16 ms unless it is set
// otherwise (FTDI, application note AN232B-04, "Small Amounts of Data and End of
// Buffer Conditions"); a microcontroller as a bridge hands on packets of 64, or
// what it has at a timer's overflow of about 4 ms (from memory). Jitter and
// stalls are of no published source: a desk computer with a browser open.
var Kinds = []Kind{
	{Name: "frames", About: "a bridge that holds nothing back, USB frames of 1 ms", Frame: ms, Packet: 64},
	{Name: "timer-1", About: "a bridge with its latency timer at 1 ms", Frame: ms, Packet: 62, Timer: ms},
	{Name: "timer-4", About: "a microcontroller as a bridge, which flushes every 4.1 ms", Frame: ms, Packet: 64, Timer: 4096 * time.Microsecond},
	{Name: "timer-16", About: "a bridge with its latency timer at 16 ms", Frame: ms, Packet: 62, Timer: 16 * ms},
	{Name: "jitter", About: "frames, and a computer that takes 1 ms more or less, 6 ms at worst", Frame: ms, Packet: 64, Jitter: ms},
	{Name: "stalls", About: "frames, and a computer that stands still for 30 ms about every minute", Frame: ms, Packet: 64, Stall: 30 * ms, StallEvery: time.Minute},
	{Name: "far", About: "frames, and 9 ms more each way: a round trip of 20 ms", Frame: ms, Packet: 64, Far: 9 * ms},
}

const ms = time.Millisecond

// Find gives the kind of the given name. The error names all there are.
func Find(name string) (Kind, error) {
	i := slices.IndexFunc(Kinds, func(k Kind) bool { return k.Name == name })
	if i < 0 {
		return Kind{}, fmt.Errorf("no kind of wire %q; there are %s", name, strings.Join(Names(), ", "))
	}
	return Kinds[i], nil
}

// Names gives the names of all kinds.
func Names() (names []string) {
	for _, k := range Kinds {
		names = append(names, k.Name)
	}
	return names
}
