package runlog

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"govrig/sim/words"
)

// flushEvery is how many frames from the board are kept back at most: 40 ms at
// the usual telemetry period.
const flushEvery = 20

// spareSize is the space set aside for the result and the end, in bytes.
const spareSize = 128 << 10

// Writer writes a run record. It is used from one goroutine. A nil Writer
// keeps nothing.
type Writer struct {
	dir      string
	rate     float64
	lockstep bool
	disk     *disk
	now      *batch // being filled

	entries int64 // in wire.bin so far
	frames  int   // from the board since the last hand-over
	base    int   // of the phases of the present loop
	samples int64
	ticks   int64
}

// Create makes the folder, which may not exist yet, and begins the record. On
// an error nothing is kept.
func Create(dir string, info Info) (*Writer, error) {
	info.Schema = Schema
	info.System = runtime.GOOS + "/" + runtime.GOARCH
	sum := sha256.Sum256([]byte(info.MachineText))
	info.MachineSum = hex.EncodeToString(sum[:])
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return nil, err
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		return nil, err
	}
	w := &Writer{dir: dir, rate: float64(info.TickHz), lockstep: info.Lockstep}
	disk, err := w.begin(&info)
	if err != nil {
		return nil, fmt.Errorf("no record can be made: %w", errors.Join(err, os.RemoveAll(dir)))
	}
	w.disk = disk
	w.now = <-disk.free
	return w, nil
}

// begin writes what is known at the start and opens the files that grow; run.json,
// which makes a record of them, comes last.
func (w *Writer) begin(info *Info) (*disk, error) {
	text, err := marshal(info)
	if err != nil {
		return nil, err
	}
	err = errors.Join(
		os.WriteFile(w.path(spareFile), bytes.Repeat([]byte{'\n'}, spareSize), 0o644),
		writeSafe(w.path(machineFile), []byte(info.MachineText)),
	)
	if err != nil {
		return nil, err
	}
	disk, err := newDisk(w.path, !w.lockstep)
	if err != nil {
		return nil, err
	}
	if err := w.put(infoFile, text); err != nil {
		disk.close()
		return nil, errors.Join(err, disk.closeFiles())
	}
	syncFolder(w.dir)
	syncFolder(filepath.Dir(w.dir))
	return disk, nil
}

func (w *Writer) path(name string) string { return filepath.Join(w.dir, name) }

// Dir is the record's folder.
func (w *Writer) Dir() string {
	if w == nil {
		return ""
	}
	return w.dir
}

// Phases says that the samples that follow are of a loop whose first phase is
// the one at index base of all that were ordered in this run.
func (w *Writer) Phases(base int) {
	if w != nil {
		w.base = base
	}
}

// Event keeps something that was ordered, answered or found out, and when: after
// as many entries of wire.bin as have been kept so far.
func (w *Writer) Event(kind string, value any) {
	if w == nil || w.disk.failed() != nil {
		return
	}
	line, err := json.Marshal(struct {
		After int64  `json:"after"`
		Event string `json:"event"`
		Value any    `json:"value,omitempty"`
	}{w.entries, kind, value})
	if err != nil {
		w.disk.fail(fmt.Errorf("event %q: %w", kind, err))
		return
	}
	w.now.script = append(append(w.now.script, line...), '\n')
}

// Sample keeps one sample.
func (w *Writer) Sample(s *Sample) {
	if w == nil || w.disk.failed() != nil {
		return
	}
	w.samples++
	w.ticks = s.Ticks
	row, err := s.row(w.base)
	if err != nil {
		w.disk.fail(err)
		return
	}
	w.now.samples.add(&row)
}

// wire keeps an entry.
func (w *Writer) wire(e Entry) {
	if w == nil || w.disk.failed() != nil {
		return
	}
	if w.frames >= flushEvery { // before the entry, so that its frames' samples are whole
		w.handOver()
	}
	w.entries++
	w.now.wire.add(e)
	if e.Kind == FromBoard {
		w.frames += bytes.Count(e.Bytes, []byte{0})
	}
}

// early keeps entries from the time before the record.
func (w *Writer) early(e *entries) {
	if w == nil {
		return
	}
	w.now.wire.addAll(e)
	w.entries += int64(len(e.kinds))
}

// handOver gives the batch to the disk. On a board in real time it does not
// wait: when the disk is still busy the batch grows.
func (w *Writer) handOver() {
	var next *batch
	if w.lockstep {
		next = <-w.disk.free
	} else {
		select {
		case next = <-w.disk.free:
		default:
			if w.now.size() > waitingMax {
				w.disk.fail(errBusy)
			}
			return
		}
	}
	w.disk.full <- w.now
	w.now, w.frames = next, 0
}

// Err tells why the record is not complete, if it is not. The run may go on.
func (w *Writer) Err() error {
	if w == nil || w.disk.failed() == nil {
		return nil
	}
	at := float64(w.ticks) / w.rate
	return fmt.Errorf("the record in %s ends at %.1f s: %w", w.dir, at, w.disk.failed())
}

// Close writes how the run ended and closes the files.
func (w *Writer) Close(end End) error {
	if w == nil {
		return nil
	}
	w.disk.full <- w.now
	w.disk.close()
	end.Ticks, end.Samples = w.ticks, w.samples
	err := os.Remove(w.path(spareFile))
	w.disk.finish()
	short := w.Err()
	if short != nil {
		end.Short = short.Error()
	}
	err = errors.Join(err, w.finish(&end))
	syncFolder(w.dir)
	if err != nil {
		err = fmt.Errorf("the end of the record in %s is missing: %w", w.dir, err)
	}
	return errors.Join(short, err)
}

// finish writes the result, the sums of all files, and last the end.
func (w *Writer) finish(end *End) error {
	if end.Result != nil {
		text, err := marshal(end.Result)
		if err == nil {
			err = w.put(resultFile, text)
		}
		if err != nil {
			return err
		}
	}
	text, err := marshal(end)
	if err != nil {
		return err
	}
	list, err := w.sums(text)
	if err != nil {
		return err
	}
	return errors.Join(w.put(sumsFile, list), w.put(endFile, text))
}

// sums gives the sums of all files; end is the one that is still to be written.
func (w *Writer) sums(end []byte) ([]byte, error) {
	s := sums{sumsSchema, map[string]sum{}}
	for _, name := range append(smallFiles[:len(smallFiles):len(smallFiles)], grownFiles...) {
		of, err := sumOfFile(w.path(name))
		if name == endFile {
			of, err = sumOf(bytes.NewReader(end))
		}
		switch {
		case err == nil:
			s.Files[name] = of
		case !errors.Is(err, fs.ErrNotExist):
			return nil, err
		}
	}
	return marshal(s)
}

// put writes a file at once or not at all.
func (w *Writer) put(name string, text []byte) error {
	if err := writeSafe(w.path(name)+newSuffix, text); err != nil {
		return err
	}
	return os.Rename(w.path(name)+newSuffix, w.path(name))
}

func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	err := words.JSON(&b, v)
	return b.Bytes(), err
}

// writeSafe writes a file and waits until it is safe on the disk.
func writeSafe(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Sync(), f.Close())
}

// syncFolder makes the names in a folder safe, where the system can.
func syncFolder(dir string) {
	if f, err := os.Open(dir); err == nil {
		_ = f.Sync()
		_ = f.Close()
	}
}
