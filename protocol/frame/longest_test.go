package frame

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// decode gives the last message in some bytes from the wire.
func (d *Decoder) decode(wire []byte) (got []byte) {
	for _, c := range wire {
		if m, ok := d.Next(c); ok {
			got = bytes.Clone(m)
		}
	}
	return got
}

// The longest message goes through whole; one byte more is a mistake of the caller,
// and from a board is counted as too long, once, whatever it holds.
func TestLongestMessage(t *testing.T) {
	longest := bytes.Repeat([]byte{7}, protocol.MaxPayload)
	var d Decoder
	require.Equal(t, longest, d.decode(Append(nil, longest)))
	require.Zero(t, d.Losses)
	more := append(longest, 7)
	require.Panics(t, func() { Append(nil, more) })
	crc := CRC(more)
	require.Nil(t, d.decode(append(AppendCOBS(nil, append(more, byte(crc>>8), byte(crc))), 0)))
	require.Equal(t, Losses{Long: 1}, d.Losses)
	require.Equal(t, longest, d.decode(Append(nil, longest)))
}

// The shortest message is one byte with its check; a check alone is none.
func TestShortestMessage(t *testing.T) {
	var d Decoder
	require.Equal(t, []byte{9}, d.decode(Append(nil, []byte{9})))
	require.Zero(t, d.Losses)
	require.Nil(t, d.decode(Append(nil, nil)))
	require.Equal(t, Losses{Form: 1}, d.Losses)
}

func TestLossesAddUp(t *testing.T) {
	require.EqualValues(t, 111, Losses{Check: 1, Form: 10, Long: 100}.Total())
}

// A hail is as many zero bytes as a board waits for, a sync is one.
func TestHailAndSync(t *testing.T) {
	var wire bytes.Buffer
	w := NewWriter(&wire)
	require.NoError(t, w.Hail())
	require.Equal(t, make([]byte, protocol.BaudHail), wire.Bytes())
	wire.Reset()
	require.NoError(t, w.Sync())
	require.Equal(t, []byte{0}, wire.Bytes())
}
