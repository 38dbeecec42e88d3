package block

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is put into columns comes out of them, packed and plain.
func TestColumnsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		numbers := rapid.SliceOfN(rapid.Int64(), 0, 50).Draw(t, "numbers")
		order := rapid.IntRange(0, 2).Draw(t, "order")
		text := rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(t, "bytes")
		length := rapid.IntRange(1, 9).Draw(t, "length")
		count := rapid.IntRange(0, 20).Draw(t, "count")
		messages := rapid.SliceOfN(rapid.Byte(), count*length, count*length).Draw(t, "messages")
		w := Writer{Pack: rapid.Bool().Draw(t, "pack")}
		var file []byte
		for range 2 {
			w.Begin(len(numbers))
			w.Ints(numbers, order)
			w.Bytes(text)
			w.Bytes(nil)
			w.Messages(messages, length)
			file = w.Append(file)
		}
		r := NewReader(bytes.NewReader(file))
		for range 2 {
			require.NoError(t, r.Next())
			require.Equal(t, len(numbers), r.Rows)
			ints, err := r.Ints([]int64{7}, r.Rows, order)
			require.NoError(t, err)
			require.Equal(t, append([]int64{7}, numbers...), ints)
			same, err := r.Bytes([]byte("x"))
			require.NoError(t, err)
			require.Equal(t, append([]byte("x"), text...), same)
			require.NoError(t, r.Skip())
			back, err := r.Messages(nil, count, length)
			require.NoError(t, err)
			require.True(t, bytes.Equal(messages, back))
			require.ErrorIs(t, r.Skip(), ErrDamaged, "there is no more")
		}
		require.ErrorIs(t, r.Next(), io.EOF)
		require.EqualValues(t, len(file), r.Good)
	})
}

// block gives one whose content is as it is said, with the right check.
func blockOf(content ...byte) []byte {
	b := binary.LittleEndian.AppendUint32(nil, uint32(len(content)))
	b = binary.LittleEndian.AppendUint32(b, crc32.ChecksumIEEE(content))
	return append(b, content...)
}

// Blocks and columns that make no sense are refused for what they are.
func TestSenselessBlocks(t *testing.T) {
	for says, file := range map[string][]byte{
		"a length of 0 bytes":     make([]byte, 8),
		"a length of 1048577":     {1, 0, 16, 0, 0, 0, 0, 0},
		"the file ends in it":     blockOf(0, 0, 0)[:10],
		"its check is wrong":      append(blockOf(0, 0, 0)[:10], 1),
		"the number of its rows":  blockOf(0x81, 0x80, 0x01),
		"too few columns":         blockOf(1),
		"the length of a column":  blockOf(1, 0, 0x81, 0x80, 0x80, 0x01),
		"a column of it makes no": blockOf(1, 2, 0),
		"cannot be unpacked":      blockOf(1, 1, 9, 2, 0xFF, 0xFF),
		"longer than it says":     blockOf(1, 1, 1, 4, 0x4B, 0x04, 0x02, 0x00), // "aaa…" by RFC 1951, fixed codes
		"in place of 1":           blockOf(1, 0, 2, 2, 4),
		"a number of it makes no": blockOf(1, 0, 1, 0x80),
	} {
		r := NewReader(bytes.NewReader(file))
		err := r.Next()
		if err == nil {
			_, err = r.Ints(nil, r.Rows, 0)
		}
		require.ErrorIs(t, err, ErrDamaged, says)
		require.ErrorContains(t, err, says)
	}
}

// Whatever a file holds, reading it ends, and takes no more memory than the bounds say.
func FuzzReader(f *testing.F) {
	w := Writer{Pack: true}
	w.Begin(3)
	w.Ints([]int64{1, 2, 3}, 1)
	w.Messages(bytes.Repeat([]byte("abc"), 30), 3)
	f.Add(w.Append(w.Append(nil)))
	f.Add(blockOf(1, 0, 2, 2, 4))
	f.Fuzz(func(t *testing.T, file []byte) {
		// the check is made right, so that what lies behind it is reached
		for at := 0; at+headSize <= len(file); {
			n := int(binary.LittleEndian.Uint32(file[at:]))
			if n <= 0 || n > len(file)-at-headSize {
				break
			}
			binary.LittleEndian.PutUint32(file[at+4:], crc32.ChecksumIEEE(file[at+headSize:][:n]))
			at += headSize + n
		}
		r := NewReader(bytes.NewReader(file))
		for {
			if err := r.Next(); err != nil {
				require.True(t, errors.Is(err, io.EOF) || errors.Is(err, ErrDamaged), err)
				return
			}
			for range 3 {
				numbers, err := r.Ints(nil, r.Rows, 2)
				require.LessOrEqual(t, len(numbers), MaxContent)
				if err != nil {
					break
				}
			}
			_, _ = r.Messages(nil, r.Rows, 3)
		}
	})
}
