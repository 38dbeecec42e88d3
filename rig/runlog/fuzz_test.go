package runlog

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol/frame"
	"govrig/rig/runlog/block"
)

// Whatever stands in the growing files, reading ends, and never with a panic.
func FuzzRecord(f *testing.F) {
	var packer wirePacker
	packer.block.Pack = true
	var some entries
	some.add(Entry{FromBoard, frame.Append([]byte{7, 0}, []byte("hello"))})
	some.add(Entry{HostTime, make([]byte, 8)})
	some.add(Entry{ReadFailed, []byte("gone")})
	var table rows
	for i := range int64(9) {
		r, err := (&Sample{Ticks: i, Stick: 1}).row(0)
		require.NoError(f, err)
		table.add(&r)
	}
	f.Add(packer.append(nil, &some), table.append(nil, &block.Writer{Pack: true}), []byte("{}\n"))
	f.Add([]byte{1, 0, 0, 0}, table.append(nil, &block.Writer{}), []byte("[\n"))
	f.Add([]byte{}, []byte{}, []byte("{\"event\":\"phases\",\"value\":[{}]}\n"))
	dir := filepath.Join(f.TempDir(), "run")
	w, err := Create(dir, Info{TickHz: tickHz, Lockstep: true})
	require.NoError(f, err)
	require.NoError(f, w.Close(End{}))
	f.Fuzz(func(t *testing.T, wireBytes, samples, script []byte) {
		for name, text := range map[string][]byte{wireFile: wireBytes, samplesFile: samples, scriptFile: script} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
		}
		_, err := Open(dir)
		require.Error(t, err, "the sums")
		cutOff, err := look(dir)
		require.NoError(t, err)
		cutOff.End = nil
		finished, err := look(dir)
		require.NoError(t, err)
		for _, r := range []*Record{cutOff, finished} {
			reader, err := r.Wire()
			require.NoError(t, err)
			for err == nil {
				_, err = reader.Next()
			}
			require.NoError(t, reader.Close())
			require.True(t, r.End != nil || errors.Is(err, io.EOF) || reader.Torn() == 0, "what is torn is left out: %v", err)
			_ = r.Messages(func(Message) bool { return true })
			_, _ = r.Phases()
			_, _ = r.Length()
			_ = r.Samples(func(*Sample) bool { return true })
		}
	})
}
