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

// A byte of the message that has become another is a wrong check, once.
func TestWrongCheckIsCounted(t *testing.T) {
	var d Decoder
	wire := Append(nil, []byte{1, 2, 3})
	wire[2] = 9 // the first byte says where the next zero is
	require.Nil(t, d.decode(append(wire, wire...)))
	require.Equal(t, Losses{Check: 2}, d.Losses)
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

// Just as many bytes without a message as are put up with are no flood yet.
func TestNoiseUpToTheLimit(t *testing.T) {
	noise := bytes.Repeat([]byte{7}, noiseMax-1)
	r := NewReader(bytes.NewReader(append(append(noise, 0), Append(nil, []byte{1, 2, 3})...)))
	got, err := r.Read()
	require.NoError(t, err)
	require.Equal(t, []byte{1, 2, 3}, got)
}

// hesitant gives nothing so many times before it gives what it has.
type hesitant struct {
	nothing int
	source  *bytes.Reader
}

func (h *hesitant) Read(p []byte) (int, error) {
	if h.nothing > 0 {
		h.nothing--
		return 0, nil
	}
	return h.source.Read(p)
}

// A source that gives nothing now and then is waited for, time and again.
func TestSourceThatHesitates(t *testing.T) {
	var h hesitant
	r := NewReader(&h)
	for n := range byte(3) {
		h = hesitant{60, bytes.NewReader(Append(nil, []byte{n}))}
		got, err := r.Read()
		require.NoError(t, err)
		require.Equal(t, []byte{n}, got)
	}
}
