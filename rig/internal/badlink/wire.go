package badlink

import (
	"errors"
	"io"
	"math/rand/v2"
	"slices"

	"govrig/protocol"
	"govrig/rig"
)

// ErrHungUp is what the host gets once the wire is gone.
var ErrHungUp = errors.New("the wire was pulled")

// Wire is a bad wire between a host and a board. It is used from one
// goroutine.
type Wire struct {
	// Reads counts what the host has read.
	Reads int

	board   io.ReadWriteCloser
	restart func() io.ReadWriteCloser
	faults  []Fault // that can happen at the present speed
	all     []Fault
	rng     *rand.Rand

	fromBoard, toBoard lane
	unread             []byte
}

// New puts a wire between the host and a board. restart gives the board after
// a Reset; the one before is closed.
func New(board io.ReadWriteCloser, restart func() io.ReadWriteCloser, rng *rand.Rand, faults ...Fault) *Wire {
	w := &Wire{board: board, restart: restart, rng: rng, all: faults}
	w.at(protocol.BaudFast)
	return w
}

// at tells at which speed the wire works.
func (w *Wire) at(baud int) {
	w.faults = nil
	for _, f := range w.all {
		if f.Baud == 0 || f.Baud == baud {
			w.faults = append(w.faults, f)
		}
	}
}

// SetBaud changes the speed of the host's end of the wire.
func (w *Wire) SetBaud(baud int) error {
	board, ok := w.board.(rig.Wire)
	if !ok {
		return errors.New("the speed of the board's end cannot be changed")
	}
	w.at(baud)
	return board.SetBaud(baud)
}

// Read gives what comes through from the board.
func (w *Wire) Read(p []byte) (int, error) {
	for len(w.unread) == 0 {
		if err := w.next(); err != nil {
			return 0, err
		}
	}
	n := copy(p, w.unread)
	w.unread = w.unread[n:]
	return n, nil
}

// next lets one chunk of the board go through the faults of the moment.
func (w *Wire) next() error {
	read := w.Reads
	w.Reads++
	if w.gone(read) {
		return ErrHungUp
	}
	for _, f := range w.faults {
		if f.Kind == Reset && f.From == read {
			w.reset()
		}
	}
	if err := w.release(read); err != nil {
		return err
	}
	chunk := make([]byte, 512)
	n, err := w.board.Read(chunk)
	if err != nil {
		return err
	}
	w.fromBoard.put(chunk[:n], read, w.faults, false, w.rng)
	w.unread = slices.Concat(append(w.fromBoard.take(read), w.flood(read))...)
	if w.asleep(read) {
		w.unread = nil
	}
	return nil
}

// Write puts bytes on the wire to the board.
func (w *Wire) Write(p []byte) (int, error) {
	if w.gone(w.Reads) {
		return 0, ErrHungUp
	}
	w.toBoard.put(p, w.Reads, w.faults, true, w.rng)
	return len(p), w.release(w.Reads)
}

// release lets the board have what is due to it.
func (w *Wire) release(read int) error {
	for _, chunk := range w.toBoard.take(read) {
		if _, err := w.board.Write(chunk); err != nil {
			return err
		}
	}
	return nil
}

// Close closes the board behind the wire.
func (w *Wire) Close() error { return w.board.Close() }

func (w *Wire) gone(read int) bool {
	return slices.ContainsFunc(w.faults, func(f Fault) bool { return f.Kind == HangUp && read >= f.From })
}

func (w *Wire) asleep(read int) bool {
	return slices.ContainsFunc(w.faults, func(f Fault) bool { return f.Kind == Suspend && f.active(read) })
}

// reset restarts the board; what was on its way is lost.
func (w *Wire) reset() {
	_ = w.board.Close() // the supply went, there is nothing to be told
	w.board = w.restart()
	w.fromBoard, w.toBoard = lane{}, lane{}
}

// flood gives the bytes of a flood, which are all frames that are none.
func (w *Wire) flood(read int) []byte {
	for _, f := range w.faults {
		if f.Kind == Flood && f.active(read) {
			return noise(w.rng, 4_000)
		}
	}
	return nil
}

func noise(rng *rand.Rand, most int) []byte {
	b := make([]byte, rng.IntN(most))
	for i := range b {
		b[i] = byte(rng.Uint32())
	}
	return b
}
