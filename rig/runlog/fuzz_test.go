package runlog

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol/frame"
)

// Whatever stands in the growing files, reading ends, and never with a panic.
func FuzzRecord(f *testing.F) {
	whole := Entry{FromBoard, frame.Append(nil, []byte("hello"))}.append(nil)
	f.Add(append(whole, Entry{HostTime, make([]byte, 8)}.append(nil)...), []byte(header), []byte("{}\n"))
	f.Add([]byte{'<', 255, 255}, []byte(header+"1,2,3,4,5,6,7,8,9,10,11,12\n"), []byte("[\n"))
	f.Add([]byte{}, []byte(header+"nan,,-,1e400,0x1,1_0,7,8,9,10,11,12\n"), []byte("{\"event\":\"phases\",\"value\":[{}]}\n"))
	dir := filepath.Join(f.TempDir(), "run")
	w, err := Create(dir, Info{TickHz: tickHz, Lockstep: true})
	require.NoError(f, err)
	require.NoError(f, w.Close(End{}))
	f.Fuzz(func(t *testing.T, wireBytes, samples, script []byte) {
		for name, text := range map[string][]byte{wireFile: wireBytes, samplesFile: samples, scriptFile: script} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
		}
		r, err := Open(dir)
		require.NoError(t, err)
		reader, err := r.Wire()
		require.NoError(t, err)
		total := int64(0)
		for {
			e, err := reader.Next()
			if err != nil {
				require.ErrorIs(t, err, io.EOF)
				break
			}
			total += int64(headSize + len(e.Bytes) + checkSize)
		}
		require.NoError(t, reader.Close())
		require.Equal(t, int64(len(wireBytes)), total+reader.Torn)
		require.NoError(t, r.Messages(func(Message) bool { return true }))
		_, _ = r.Phases()
		_, _ = r.Length()
		_ = r.Samples(func(s *Sample) bool {
			_ = s.appendCSV(nil, tickHz, 0)
			return true
		})
	})
}
