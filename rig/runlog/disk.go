package runlog

import (
	"errors"
	"os"
	"sync/atomic"
)

// batch is what is handed over at a time.
type batch struct{ script, wire, samples []byte }

func (b *batch) size() int { return len(b.script) + len(b.wire) + len(b.samples) }

const (
	batchSize  = 128 << 10 // room made at the start, each file: more than a second of a run
	waitingMax = 16 << 20  // what may wait for a disk that does not answer: some minutes
)

var errBusy = errors.New("the disk has not answered for minutes")

// disk writes batches in a goroutine of its own.
type disk struct {
	free, full chan *batch
	done       chan struct{}
	files      [3]*os.File // in the order of batch
	sync       bool
	err        atomic.Pointer[error]
}

// newDisk creates the growing files and starts the goroutine. With sync each
// batch is made safe against a loss of power.
func newDisk(path func(string) string, sync bool) (*disk, error) {
	d := &disk{
		free: make(chan *batch, 2), full: make(chan *batch, 2),
		done: make(chan struct{}), sync: sync,
	}
	for i, name := range []string{scriptFile, wireFile, samplesFile} {
		f, err := os.OpenFile(path(name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			return nil, errors.Join(err, d.closeFiles())
		}
		d.files[i] = f
	}
	for range cap(d.free) {
		d.free <- &batch{make([]byte, 0, batchSize), make([]byte, 0, batchSize), make([]byte, 0, batchSize)}
	}
	go d.run()
	return d, nil
}

func (d *disk) run() {
	defer close(d.done)
	for b := range d.full {
		d.write(b)
		b.script, b.wire, b.samples = b.script[:0], b.wire[:0], b.samples[:0]
		d.free <- b
	}
	d.fail(d.closeFiles())
}

// write writes a batch, unless an earlier one could not be written: a record
// has no gaps.
func (d *disk) write(b *batch) {
	for i, part := range [][]byte{b.script, b.wire, b.samples} {
		if len(part) == 0 || d.failed() != nil {
			continue
		}
		_, err := d.files[i].Write(part)
		if err == nil && d.sync {
			err = d.files[i].Sync()
		}
		d.fail(err)
	}
}

// close waits for what has been handed over and closes the files.
func (d *disk) close() {
	close(d.full)
	<-d.done
}

func (d *disk) closeFiles() (err error) {
	for _, f := range d.files {
		if f != nil {
			err = errors.Join(err, f.Sync(), f.Close())
		}
	}
	return err
}

// fail notes the first failure; nil is none.
func (d *disk) fail(err error) {
	if err != nil {
		d.err.CompareAndSwap(nil, &err)
	}
}

func (d *disk) failed() error {
	if p := d.err.Load(); p != nil {
		return *p
	}
	return nil
}
