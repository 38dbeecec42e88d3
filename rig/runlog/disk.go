package runlog

import (
	"errors"
	"os"
	"sync/atomic"
)

// batch is what is handed over at a time.
type batch struct {
	script  []byte
	wire    entries
	samples rows
}

// size is about how many bytes it takes.
func (b *batch) size() int {
	return len(b.script) + len(b.wire.bytes) + 8*len(b.wire.lengths) + 8*len(columns)*b.samples.len()
}

func (b *batch) clear() {
	b.script = b.script[:0]
	b.wire.clear()
	b.samples.clear()
}

const waitingMax = 16 << 20 // what may wait for a disk that does not answer: some minutes

var errBusy = errors.New("the disk has not answered for minutes")

// disk writes batches in a goroutine of its own.
type disk struct {
	free, full chan *batch
	done       chan struct{}
	script     *os.File
	wire       blockWriter
	samples    blockWriter
	packer     struct{ small, large wirePacker }
	waiting    batch // for a large block
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
	d.packer.large.block.Pack = true
	var err error
	if d.script, err = newFile(path(scriptFile)); err == nil {
		if err = d.wire.open(path(wireFile)); err == nil {
			err = d.samples.open(path(samplesFile))
		}
	}
	if err != nil {
		return nil, errors.Join(err, d.closeFiles())
	}
	for range cap(d.free) {
		d.free <- &batch{}
	}
	go d.run()
	return d, nil
}

func newFile(path string) (*os.File, error) {
	return os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
}

func (d *disk) run() {
	defer close(d.done)
	for b := range d.full {
		d.fail(d.write(b))
		b.clear()
		d.free <- b
	}
}

// write writes a batch, unless an earlier one could not be written: a record
// has no gaps.
func (d *disk) write(b *batch) error {
	if d.failed() != nil {
		return nil
	}
	if len(b.script) > 0 {
		if _, err := d.script.Write(b.script); err != nil {
			return err
		}
	}
	for rest := b.wire; len(rest.kinds) > 0; {
		front := rest.cut()
		if err := d.wire.small(d.packer.small.append(d.wire.buf[:0], &front)); err != nil {
			return err
		}
	}
	for rest := b.samples; rest.len() > 0; {
		front := rest.cut()
		if err := d.samples.small(front.append(d.samples.buf[:0], &d.samples.plain)); err != nil {
			return err
		}
	}
	if d.sync {
		if err := errors.Join(d.script.Sync(), d.wire.file.Sync(), d.samples.file.Sync()); err != nil {
			return err
		}
	}
	d.gather(b)
	return nil
}

// gather puts a batch that is safe into the large blocks.
func (d *disk) gather(b *batch) {
	d.waiting.wire.addAll(&b.wire)
	d.waiting.samples.addAll(&b.samples)
	if len(d.waiting.wire.kinds) >= blockRows || len(d.waiting.wire.bytes) >= blockBytes {
		d.packWire()
	}
	if d.waiting.samples.len() >= blockRows {
		d.packSamples()
	}
}

func (d *disk) packWire() {
	for rest := d.waiting.wire; len(rest.kinds) > 0; {
		front := rest.cut()
		d.wire.large(d.packer.large.append(d.wire.buf[:0], &front))
	}
	d.waiting.wire.clear()
}

func (d *disk) packSamples() {
	for rest := d.waiting.samples; rest.len() > 0; {
		front := rest.cut()
		d.samples.large(front.append(d.samples.buf[:0], &d.samples.packed))
	}
	d.waiting.samples.clear()
}

// close waits for what has been handed over.
func (d *disk) close() {
	close(d.full)
	<-d.done
}

// finish closes the files; those of blocks become their packed copies.
func (d *disk) finish() {
	d.packWire()
	d.packSamples()
	d.fail(errors.Join(d.script.Sync(), d.script.Close(), d.wire.finish(), d.samples.finish()))
}

// closeFiles leaves off.
func (d *disk) closeFiles() (err error) {
	for _, f := range []*os.File{d.script, d.wire.file, d.wire.copy, d.samples.file, d.samples.copy} {
		if f != nil {
			err = errors.Join(err, f.Close())
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
