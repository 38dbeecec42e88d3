// Package link is the way to a board on a serial port. It is the only importer
// of the serial library and the only part of the rig that knows wall time.
//
// A Port never hangs: opening gives up on a driver that does not answer, reading
// ends after the port's patience, writing is queued, and closing gives up on a
// driver that does not let go. A port that went away is told apart from one that
// is only quiet, and one on which bytes come without end gives an answer no more
// time than a quiet one of four times the patience.
package link

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
)

// Errors of a port. A read that saw nothing within the patience gives
// os.ErrDeadlineExceeded.
var (
	// ErrHangUp is a port that went away: the board was unplugged.
	ErrHangUp = errors.New("the port went away: was the board unplugged?")
	// ErrStalled is a port that takes no more bytes.
	ErrStalled = errors.New("the port takes no more bytes: unplug the board, plug it in and try again")
)

// Clock gives the host's time since now, by a clock that nobody sets.
func Clock() func() time.Duration {
	start := time.Now()
	return func() time.Duration { return time.Since(start) }
}

// DefaultPatience is how long a read waits for bytes.
const DefaultPatience = 500 * time.Millisecond

const (
	pollTime   = 50 * time.Millisecond  // how often the reader looks whether the port is closing
	closeTime  = 500 * time.Millisecond // how long Close waits for a driver
	answerTime = 4                      // times the patience: the longest wait for an answer
	chunkSize  = 256
	chunks     = 64
	pendingMax = 64
)

// Port is a serial port. Read and Write may be called from two goroutines.
type Port struct {
	raw      io.ReadWriteCloser
	straight *straight // reads and writes in raw's place; nil is none
	setMode  func(*serial.Mode) error
	patience time.Duration

	full, free chan []byte // read chunks
	present    []byte      // chunk being read from
	unread     []byte
	timer      *time.Timer
	waited     time.Duration // in reads since the last write
	wrote      atomic.Bool   // since the last read

	pending, spare chan []byte // chunks to write

	closing atomic.Bool
	done    chan struct{} // closed by Close
	failed  chan struct{} // closed at the first failure of the port
	once    sync.Once
	cause   error // set before failed is closed
	workers sync.WaitGroup
}

// SetBaud changes the speed of the port, without restarting the board.
func (p *Port) SetBaud(baud int) error {
	if err := p.setMode(&serial.Mode{BaudRate: baud}); err != nil {
		return fmt.Errorf("the port does not take %d baud: %w", baud, err)
	}
	return nil
}

func newPort(raw io.ReadWriteCloser, direct *straight, patience time.Duration) *Port {
	p := &Port{
		raw: raw, straight: direct, patience: patience,
		full: make(chan []byte, chunks), free: make(chan []byte, chunks),
		pending: make(chan []byte, pendingMax), spare: make(chan []byte, pendingMax),
		done: make(chan struct{}), failed: make(chan struct{}),
		timer: time.NewTimer(time.Hour),
	}
	for range chunks {
		p.free <- make([]byte, chunkSize)
	}
	for range pendingMax {
		p.spare <- make([]byte, 0, chunkSize)
	}
	if direct == nil {
		p.workers.Add(1)
		go p.reader()
	}
	p.workers.Add(1)
	go p.writer()
	return p
}

// Read gives bytes that have come in. When none come within the port's
// patience the error is os.ErrDeadlineExceeded, and so it is when reads have
// waited for four times that since the last write, whatever came: an answer would
// have come. When the port went away the error is ErrHangUp, after the last byte.
func (p *Port) Read(b []byte) (int, error) {
	if p.straight != nil {
		return p.readStraight(b)
	}
	if len(p.unread) == 0 {
		if err := p.fetch(); err != nil {
			return 0, err
		}
	}
	n := copy(b, p.unread)
	p.unread = p.unread[n:]
	if len(p.unread) == 0 {
		p.free <- p.present[:cap(p.present)]
		p.present = nil
	}
	return n, nil
}

// readStraight is Read on a port of which this program reads itself.
func (p *Port) readStraight(b []byte) (int, error) {
	if p.waitedOut() {
		return 0, os.ErrDeadlineExceeded
	}
	since := time.Now()
	n, err := p.straight.read(b, p.patience)
	p.waited += min(time.Since(since), p.patience)
	return n, p.told(err)
}

// waitedOut reports whether reads have waited long enough since the last write.
func (p *Port) waitedOut() bool {
	if p.wrote.Swap(false) {
		p.waited = 0
	}
	return p.waited > answerTime*p.patience
}

// fetch waits for the next chunk.
func (p *Port) fetch() error {
	if p.waitedOut() {
		return os.ErrDeadlineExceeded
	}
	select { // what has come in comes before any error
	case p.present = <-p.full:
		p.unread = p.present
		return nil
	default:
	}
	err := p.wait()
	if errors.Is(err, errStoodStill) {
		err = p.wait()
	}
	if errors.Is(err, errStoodStill) {
		return os.ErrDeadlineExceeded
	}
	return err
}

// errStoodStill is a wait that took far longer than the patience: the computer
// slept, and what has come in has not been looked at.
var errStoodStill = errors.New("the computer stood still")

// wait waits for the next chunk for as long as the patience lasts.
func (p *Port) wait() error {
	since := time.Now()
	p.timer.Reset(p.patience)
	defer p.timer.Stop()
	defer func() { p.waited += min(time.Since(since), p.patience) }()
	select {
	case p.present = <-p.full:
		p.unread = p.present
		return nil
	case <-p.done:
		return os.ErrClosed
	case <-p.failed:
		return p.cause
	case <-p.timer.C:
		if time.Since(since) > 3*p.patience/2 {
			return errStoodStill
		}
		return os.ErrDeadlineExceeded
	}
}

// Write queues b to be sent. When the queue is full, and the port takes nothing
// of it within the port's patience, the error is ErrStalled.
func (p *Port) Write(b []byte) (int, error) {
	select {
	case <-p.done:
		return 0, os.ErrClosed
	case <-p.failed:
		return 0, p.cause
	default:
	}
	p.wrote.Store(true)
	written := 0
	if p.straight != nil && len(p.spare) == pendingMax { // nothing is queued
		var err error
		if written, err = p.straight.write(b); err != nil {
			return 0, p.told(err)
		}
		if written == len(b) {
			return written, nil
		}
	}
	chunk, err := p.room()
	if err != nil {
		return 0, err
	}
	p.pending <- append(chunk[:0], b[written:]...)
	return len(b), nil
}

// room waits for a free chunk to write into.
func (p *Port) room() ([]byte, error) {
	select {
	case chunk := <-p.spare:
		return chunk, nil
	default:
	}
	timer := time.NewTimer(p.patience)
	defer timer.Stop()
	select {
	case chunk := <-p.spare:
		return chunk, nil
	case <-p.done:
		return nil, os.ErrClosed
	case <-p.failed:
		return nil, p.cause
	case <-timer.C:
		return nil, ErrStalled
	}
}

// Close sends what is queued, closes the port and waits for its goroutines. A
// driver that does not let go within half a second is left behind.
func (p *Port) Close() error {
	if p.closing.Swap(true) {
		return nil
	}
	p.drain()
	close(p.done)
	if p.straight != nil {
		_ = p.straight.close()
	}
	p.await(2 * pollTime)
	closed := make(chan error, 1)
	go func() {
		err := p.raw.Close()
		p.workers.Wait()
		closed <- err
	}()
	select {
	case err := <-closed:
		if errors.Is(p.failure(), ErrHangUp) {
			return nil // there is nothing left to close
		}
		return err
	case <-time.After(closeTime):
		return errors.New("the port's driver does not let go: unplug the board")
	}
}

// await gives reader and writer time to leave the port before it is closed
// under them: the system may give its descriptor to another file at once.
func (p *Port) await(patience time.Duration) {
	gone := make(chan struct{})
	go func() { p.workers.Wait(); close(gone) }()
	select {
	case <-gone:
	case <-time.After(patience):
	}
}

// drain waits a short while for queued bytes to be taken by the port.
func (p *Port) drain() {
	deadline := time.NewTimer(closeTime)
	defer deadline.Stop()
	for range pendingMax {
		select {
		case <-p.spare: // each chunk back here has been written
		case <-p.failed:
			return
		case <-deadline.C:
			return
		}
	}
}

func (p *Port) failure() error {
	select {
	case <-p.failed:
		return p.cause
	default:
		return nil
	}
}

// fail notes the first failure, unless it is our own closing.
func (p *Port) fail(err error) {
	if p.closing.Load() {
		return
	}
	p.once.Do(func() {
		p.cause = fmt.Errorf("%w (%w)", ErrHangUp, err)
		close(p.failed)
	})
}

// told gives what the rig is told of an error of the port, and notes the first
// failure.
func (p *Port) told(err error) error {
	switch {
	case err == nil, errors.Is(err, os.ErrDeadlineExceeded):
		return err
	case errors.Is(err, os.ErrClosed), p.closing.Load():
		return os.ErrClosed
	}
	p.fail(err)
	return p.cause
}

// reader moves bytes from the port to the queue until the port ends. When
// nothing takes them, the oldest are dropped.
func (p *Port) reader() {
	defer p.workers.Done()
	for {
		chunk := p.chunk()
		n, err := p.raw.Read(chunk[:cap(chunk)])
		if n > 0 {
			p.full <- chunk[:n]
		} else {
			p.free <- chunk
		}
		if err != nil {
			p.fail(err)
			return
		}
		if p.closing.Load() {
			select {
			case <-p.done:
				return
			default:
			}
		}
	}
}

// chunk gives a free chunk, or takes back the oldest one that nobody has read.
func (p *Port) chunk() []byte {
	select {
	case chunk := <-p.free:
		return chunk
	default:
	}
	select {
	case chunk := <-p.free:
		return chunk
	case oldest := <-p.full:
		return oldest
	}
}

// writer moves queued bytes to the port.
func (p *Port) writer() {
	defer p.workers.Done()
	for {
		select {
		case <-p.done:
			return
		case <-p.failed:
			return
		case chunk := <-p.pending:
			for rest := chunk; len(rest) > 0; {
				n, err := p.raw.Write(rest)
				if err == nil && n == 0 {
					err = io.ErrShortWrite
				}
				if err != nil {
					p.fail(err)
					return
				}
				rest = rest[n:]
			}
			p.spare <- chunk
		}
	}
}
