package runlog

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/sim"
)

const tickHz = 16_000_000

// create makes a record in a new folder.
func create(t testing.TB, info Info) *Writer {
	info.TickHz = tickHz
	w, err := Create(filepath.Join(t.TempDir(), "deep", "run"), info)
	require.NoError(t, err)
	return w
}

func open(t testing.TB, dir string) *Record {
	r, err := Open(dir)
	require.NoError(t, err)
	return r
}

// wire reads all entries.
func wire(t testing.TB, r *Record) (entries []Entry, torn int64) {
	w, err := r.Wire()
	require.NoError(t, err)
	defer w.Close()
	for {
		e, err := w.Next()
		if errors.Is(err, io.EOF) {
			return entries, w.Torn()
		}
		require.NoError(t, err)
		entries = append(entries, Entry{e.Kind, bytes.Clone(e.Bytes)})
	}
}

// port gives what is put into it.
type port struct {
	bytes.Buffer
	err error
}

func (p *port) Read(b []byte) (int, error) {
	if p.err != nil {
		return 0, p.err
	}
	return p.Buffer.Read(b)
}

func (p *port) Close() error { return nil }

func TestRecordComesBack(t *testing.T) {
	w := create(t, Info{
		Procedure: "hold", Options: []byte(`{"Time":3}`), Tool: "v1", Machine: "M", MachineText: "format: x\n",
		Virtual: true, Identity: protocol.Identity{Board: 2}, Lockstep: true,
	})
	line := &port{}
	tap := NewTap(line)
	_, err := tap.Write([]byte{0})
	require.NoError(t, err)
	tap.Keep(w)
	w.Event(EventPhases, []struct {
		Name string `json:"name"`
	}{{"idle"}, {"steady"}})
	line.WriteString("\x01\x00")
	buf := make([]byte, 10)
	n, err := tap.Read(buf) // what was written stands in the buffer, too
	require.NoError(t, err)
	require.Equal(t, 3, n)
	tap.HostTime(1234567 * time.Nanosecond)
	line.err = os.ErrDeadlineExceeded
	_, err = tap.Read(buf)
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	line.err = errors.New("gone")
	_, err = tap.Read(buf)
	require.ErrorContains(t, err, "gone")
	w.Phases(5)
	w.Sample(&Sample{Ticks: 320_001, State: sim.State{EngineSpeed: 100 / rpm}, Stick: 1_520_300 * time.Nanosecond, Phase: 1})
	w.Event(EventStop, nil)
	result := measure.NewSheet("hold", true).Result()
	require.NoError(t, w.Close(End{Reason: Stopped, Found: []string{"it holds"}, Clock: &ClockError{Fast: 0.001}, Result: &result}))

	r := open(t, w.Dir())
	require.Equal(t, "hold", r.Info.Procedure)
	require.JSONEq(t, `{"Time":3}`, string(r.Info.Options))
	require.EqualValues(t, 2, r.Info.Identity.Board)
	require.Len(t, r.Info.MachineSum, 64)
	require.Equal(t, Stopped, r.Reason())
	require.Equal(t, []string{"it holds"}, r.End.Found)
	require.InDelta(t, 0.001, r.End.Clock.Fast, 0)
	require.EqualValues(t, 320_001, r.End.Ticks)
	require.EqualValues(t, 1, r.End.Samples)
	text, err := r.Machine()
	require.NoError(t, err)
	require.Equal(t, "format: x\n", string(text))
	stored, err := r.Result()
	require.NoError(t, err)
	require.Equal(t, result, stored)

	entries, torn := wire(t, r)
	require.Zero(t, torn)
	host := binary.LittleEndian.AppendUint64(nil, 1234567)
	require.Equal(t, []Entry{
		{ToBoard, []byte{0}}, {FromBoard, []byte{0, 1, 0}}, {HostTime, host}, {ReadFailed, []byte{}}, {ReadFailed, []byte("gone")},
	}, entries)
	events, err := r.Events()
	require.NoError(t, err)
	require.Len(t, events, 2)
	require.EqualValues(t, 1, events[0].After, "what came before the record counts")
	require.EqualValues(t, 5, events[1].After)
	phases, err := r.Phases()
	require.NoError(t, err)
	require.Equal(t, []phase.Key{phase.Of("idle"), phase.Of("steady")}, phases, "a record without keys")
	require.NoError(t, r.Samples(func(s *Sample) bool {
		require.EqualValues(t, 320_001, s.Ticks, "to the tick")
		require.InDelta(t, 100/rpm, s.State.EngineSpeed, 1e-9)
		require.Equal(t, 1_520_300*time.Nanosecond, s.Stick)
		require.Equal(t, 6, s.Phase)
		return true
	}))
	require.NoFileExists(t, filepath.Join(r.Dir, spareFile))
}

func TestFolderThatIsThereIsLeftAlone(t *testing.T) {
	w := create(t, Info{})
	_, err := Create(w.Dir(), Info{})
	require.ErrorIs(t, err, os.ErrExist)
	require.NoError(t, w.Close(End{Reason: Complete}))
	require.Equal(t, Complete, open(t, w.Dir()).Reason())
}

func TestOtherVersionIsRefused(t *testing.T) {
	w := create(t, Info{})
	require.NoError(t, w.Close(End{}))
	path := filepath.Join(w.Dir(), infoFile)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, bytes.Replace(text, []byte("run/2"), []byte("run/7"), 1), 0o644))
	_, err = Open(w.Dir())
	require.ErrorContains(t, err, "govrig/run/7")
}

// A nil Writer keeps nothing and does no harm.
func TestNoRecord(t *testing.T) {
	var w *Writer
	w.Event("x", nil)
	w.Phases(1)
	w.Sample(&Sample{})
	require.NoError(t, w.Err())
	require.Empty(t, w.Dir())
	tap := NewTap(&port{})
	_, err := tap.Write([]byte("before"))
	require.NoError(t, err)
	tap.Keep(w)
	tap.HostTime(1)
	require.NoError(t, w.Close(End{}))
}

// killed makes a record as a killed program leaves it, of 50 entries, samples and
// events in five blocks, and gives its growing files.
func killed(t testing.TB) (r *Record, whole map[string][]byte) {
	w := create(t, Info{Lockstep: true})
	tap := NewTap(&port{})
	tap.Keep(w)
	for i := range 50 {
		_, err := tap.Write(bytes.Repeat([]byte{byte(i)}, i))
		require.NoError(t, err)
		w.Sample(&Sample{Ticks: int64(i)})
		w.Event("n", i)
		if i%10 == 9 {
			w.handOver()
		}
	}
	w.disk.close()
	whole = map[string][]byte{}
	for _, name := range grownFiles {
		b, err := os.ReadFile(filepath.Join(w.Dir(), name))
		require.NoError(t, err)
		whole[name] = b
	}
	return open(t, w.Dir()), whole
}

// wholeBlocks is how many blocks lie within the first bytes of a file.
func wholeBlocks(file []byte, cut int) (n, size int) {
	for at := 0; at < cut; n++ {
		if at += 8 + int(binary.LittleEndian.Uint32(file[at:])); at > cut {
			break
		}
		size = at
	}
	return n, size
}

// Any cut through the growing files leaves all blocks that are whole before it,
// and says how much is torn; so does a tail of zeros, which a loss of power leaves.
func TestAnyCutIsReadable(t *testing.T) {
	r, whole := killed(t)
	require.Equal(t, CutOff, r.Reason())
	rapid.Check(t, func(rt *rapid.T) {
		cut := map[string]int{}
		zeros := rapid.SampledFrom([]int{0, 1, 2, 3, 4096}).Draw(rt, "zeros")
		size := 0
		for _, name := range grownFiles {
			b := whole[name]
			cut[name] = rapid.IntRange(0, len(b)).Draw(rt, name)
			left := bytes.Clone(b[:cut[name]])
			if name != scriptFile {
				left = append(left, make([]byte, zeros)...)
			}
			for cut[name] < min(len(b), len(left)) && b[cut[name]] == 0 { // the zero that was cut off
				cut[name]++
			}
			if name == wireFile {
				size = len(left)
			}
			require.NoError(rt, os.WriteFile(r.path(name), left, 0o644))
		}
		entries, torn := wire(t, r)
		for i, e := range entries {
			require.Equal(rt, bytes.Repeat([]byte{byte(i)}, i), e.Bytes)
		}
		blocks, good := wholeBlocks(whole[wireFile], cut[wireFile])
		require.Len(rt, entries, 10*blocks)
		require.EqualValues(rt, size-good, torn)
		n := 0
		require.NoError(rt, r.Samples(func(s *Sample) bool { n++; return true }))
		blocks, _ = wholeBlocks(whole[samplesFile], cut[samplesFile])
		require.Equal(rt, 10*blocks, n)
		events, err := r.Events()
		require.NoError(rt, err)
		require.Len(rt, events, bytes.Count(whole[scriptFile][:cut[scriptFile]], []byte("\n")))
	})
}

// In a finished record nothing may be torn.
func TestTornBlockOfAFinishedRecord(t *testing.T) {
	r, whole := killed(t)
	r.End = &End{Samples: 50}
	require.NoError(t, r.Samples(func(*Sample) bool { return true }))
	require.NoError(t, os.WriteFile(r.path(samplesFile), whole[samplesFile][:len(whole[samplesFile])-1], 0o644))
	require.ErrorContains(t, r.Samples(func(*Sample) bool { return true }), "samples.bin: block 5, at byte")
	require.NoError(t, os.WriteFile(r.path(samplesFile), nil, 0o644))
	require.ErrorContains(t, r.Samples(func(*Sample) bool { return true }), "has 0 samples, the run had 50")
}

// Messages come out in the order in which they passed, damaged ones left out,
// however the port has cut the stream.
func TestMessagesAcrossPortions(t *testing.T) {
	w := create(t, Info{Lockstep: true})
	line := &port{}
	tap := NewTap(line)
	tap.Keep(w)
	stream := []byte{7, 7, 0} // noise at the start
	for i := range 5 {
		stream = frame.Append(stream, []byte{0x83, byte(i)})
	}
	line.Write(stream)
	buf := make([]byte, 4)
	for range len(stream)/4 + 1 {
		_, err := tap.Read(buf)
		require.NoError(t, err)
	}
	_, err := tap.Write(frame.Append(nil, []byte{3, 9}))
	require.NoError(t, err)
	require.NoError(t, w.Close(End{}))
	var got []string
	require.NoError(t, open(t, w.Dir()).Messages(func(m Message) bool {
		got = append(got, string(m.Kind)+string(rune('0'+m.Bytes[1])))
		return true
	}))
	require.Equal(t, []string{"<0", "<1", "<2", "<3", "<4", ">9"}, got)
}

// playback is a stream without end of one frame after the other.
type playback struct{ frame []byte }

func (p playback) Read(b []byte) (int, error)  { return copy(b, p.frame), nil }
func (p playback) Write(b []byte) (int, error) { return len(b), nil }
func (p playback) Close() error                { return nil }

// recording gives a function that keeps what one step of the loop makes.
func recording(t testing.TB, lockstep bool) (*Writer, func()) {
	w := create(t, Info{Lockstep: lockstep})
	telemetry := protocol.Telemetry{PulsesLen: 1}
	tap := NewTap(playback{frame.Append(nil, telemetry.AppendTo(nil))})
	tap.Keep(w)
	in, out := make([]byte, 512), frame.Append(nil, (&protocol.Drive{Sequence: 1}).AppendTo(nil))
	s := Sample{State: sim.State{EngineSpeed: 1234.5, HeadSpeed: 171.2, Opening: 0.3, EngineTorque: 0.7, LoadTorque: 6}}
	return w, func() {
		_, _ = tap.Read(in)
		_, _ = tap.Write(out)
		tap.HostTime(1)
		s.Ticks += 32_000
		w.Sample(&s)
	}
}

func TestKeepingDoesNotAllocate(t *testing.T) {
	w, step := recording(t, true)
	require.Zero(t, testing.AllocsPerRun(2_000, step))
	require.NoError(t, w.Close(End{}))
}

func BenchmarkKeeping(b *testing.B) {
	w, step := recording(b, true)
	b.ReportAllocs()
	for b.Loop() {
		step()
	}
	require.NoError(b, w.Close(End{}))
}

// When the disk does not answer, the loop goes on, and the record ends once
// too much waits. The disk here is stuck because its batches are held back.
func TestStuckDisk(t *testing.T) {
	w, step := recording(t, false)
	held := <-w.disk.free // the disk has this one and does not give it back
	for range waitingMax / 100 {
		step()
	}
	require.ErrorIs(t, w.Err(), errBusy)
	require.ErrorContains(t, w.Err(), "ends at")
	w.disk.free <- held
	require.ErrorIs(t, w.Close(End{Reason: Complete}), errBusy)
	require.Contains(t, open(t, w.Dir()).End.Short, "not answered")
}
