package frame

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// vectors reads a file of testdata/wire: two columns of hex a line, "-" for
// nothing, "#" for a comment. The firmware's own test reads the same files.
func vectors(t *testing.T, name string) (rows [][2][]byte) {
	file, err := os.Open("../../testdata/wire/" + name)
	require.NoError(t, err)
	defer file.Close()
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		text, _, _ := strings.Cut(lines.Text(), "#")
		words := strings.Fields(text)
		if len(words) == 0 {
			continue
		}
		require.Len(t, words, 2, "%s: %s", name, lines.Text())
		var row [2][]byte
		for i, word := range words {
			if word != "-" {
				row[i], err = hex.DecodeString(word)
				require.NoError(t, err)
			}
		}
		rows = append(rows, row)
	}
	require.NoError(t, lines.Err())
	return rows
}

// unstuff is the plain inverse of AppendCOBS, through the decoder's own parts.
func unstuff(stuffed []byte) (plain []byte) {
	var u unstuffer
	for _, c := range stuffed {
		if data, ok := u.next(c); ok {
			plain = append(plain, data)
		}
	}
	return plain
}

func TestCOBSVectors(t *testing.T) {
	rows := vectors(t, "cobs.txt")
	require.GreaterOrEqual(t, len(rows), 10)
	for _, row := range rows {
		require.Equal(t, row[1], AppendCOBS(nil, row[0]), "% x", row[0])
		require.True(t, bytes.Equal(row[0], unstuff(row[1])), "% x", row[1])
	}
}

func TestCRCVectors(t *testing.T) {
	rows := vectors(t, "crc.txt")
	require.GreaterOrEqual(t, len(rows), 3)
	for _, row := range rows {
		crc := CRC(row[0])
		require.Equal(t, row[1], []byte{byte(crc >> 8), byte(crc)}, "% x", row[0])
	}
}

// A decoder takes both forms of a block of exactly 254 bytes: with and without
// the empty block that older encoders add.
func TestFinalFullBlock(t *testing.T) {
	plain := bytes.Repeat([]byte{7}, 254)
	stuffed := AppendCOBS(nil, plain)
	require.Len(t, stuffed, 255)
	require.Equal(t, plain, unstuff(stuffed))
	require.Equal(t, plain, unstuff(append(stuffed, 1)))
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		messages := rapid.SliceOf(rapid.SliceOfN(rapid.Byte(), 1, 64)).Draw(t, "messages")
		var wire bytes.Buffer
		w := NewWriter(&wire)
		for _, m := range messages {
			require.NoError(t, w.Write(m))
		}
		require.Equal(t, len(messages), bytes.Count(wire.Bytes(), []byte{0}))
		r := NewReader(iotest.OneByteReader(&wire))
		for _, m := range messages {
			got, err := r.Read()
			require.NoError(t, err)
			require.Equal(t, m, got)
		}
		_, err := r.Read()
		require.ErrorIs(t, err, io.EOF)
		require.Zero(t, r.Losses.Total())
	})
}

// One damaged byte never lets a wrong message through in silence: it is
// counted, and the frames around it are read.
func TestDamageIsCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		message := rapid.SliceOfN(rapid.Byte(), 1, 64).Draw(t, "message")
		wire := Append(nil, message)
		at := rapid.IntRange(0, len(wire)-2).Draw(t, "at")
		wire[at] ^= byte(rapid.IntRange(1, 255).Draw(t, "flip"))
		wire = Append(wire, []byte("after"))
		var d Decoder
		var got [][]byte
		for _, c := range wire {
			if m, ok := d.Next(c); ok {
				got = append(got, bytes.Clone(m))
			}
		}
		require.NotContains(t, got, message)
		require.Equal(t, []byte("after"), got[len(got)-1])
		require.NotZero(t, d.Losses.Total())
	})
}

func TestLongAndShortFrames(t *testing.T) {
	var d Decoder
	for range 10_000 {
		d.Next(0x55)
	}
	d.Next(0)
	require.Equal(t, Losses{Long: 1}, d.Losses)
	for _, c := range []byte{5, 0x31, 0x32, 0x33, 0, 1, 0, 0, 0} { // block cut short; empty message; nothing
		d.Next(c)
	}
	require.Equal(t, Losses{Long: 1, Form: 2}, d.Losses)
}

func TestSourceWithoutProgress(t *testing.T) {
	_, err := NewReader(silent{}).Read()
	require.ErrorIs(t, err, ErrNoProgress)
}

type silent struct{}

func (silent) Read([]byte) (int, error) { return 0, nil }

// flood gives the same byte without end.
type flood byte

func (f flood) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(f)
	}
	return len(p), nil
}

// A source that floods cannot hold the reader, with frames or without.
func TestFloodEndsTheRead(t *testing.T) {
	for _, f := range []flood{0, 1, 'A'} {
		r := NewReader(f)
		for range 3 {
			_, err := r.Read()
			require.ErrorIs(t, err, ErrNoFrames)
		}
	}
	message := Append(nil, []byte{1, 2, 3})
	noise := bytes.Repeat([]byte{7}, noiseMax-600)
	r := NewReader(bytes.NewReader(slices.Concat(noise, []byte{0}, message)))
	got, err := r.Read()
	require.NoError(t, err)
	require.Equal(t, []byte{1, 2, 3}, got)
	require.EqualValues(t, 1, r.Losses.Long)
}

func TestNoAllocations(t *testing.T) {
	var wire bytes.Buffer
	wire.Grow(1 << 12)
	w, r := NewWriter(&wire), NewReader(&wire)
	message := bytes.Repeat([]byte{0, 1}, 20)
	require.Zero(t, testing.AllocsPerRun(100, func() {
		_ = w.Write(message)
		_, _ = r.Read()
	}))
}

func FuzzDecoder(f *testing.F) {
	f.Add([]byte{})
	f.Add(Append(nil, []byte("hello")))
	f.Add([]byte{0xFF, 0, 0x05, 0x31, 0})
	f.Fuzz(func(t *testing.T, wire []byte) {
		var d Decoder
		for _, c := range wire {
			message, ok := d.Next(c)
			if !ok {
				continue
			}
			require.LessOrEqual(t, len(message), 64)
			again := NewReader(bytes.NewReader(Append(nil, message)))
			got, err := again.Read()
			require.NoError(t, err)
			require.Equal(t, message, got)
		}
	})
}
