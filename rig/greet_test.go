package rig

import (
	"context"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/board"
)

// far is the far end of a wire: what it says at each read, and what it was
// told. After its last word it is quiet.
type far struct {
	says  [][]byte
	reads int
	told  [][]byte
}

func (f *far) Read(p []byte) (int, error) {
	f.reads++
	if f.reads > len(f.says) || len(f.says[f.reads-1]) == 0 {
		return 0, os.ErrDeadlineExceeded
	}
	return copy(p, f.says[f.reads-1]), nil
}

func (f *far) Write(p []byte) (int, error) {
	f.told = append(f.told, append([]byte(nil), p...))
	return len(p), nil
}

func TestGreet(t *testing.T) {
	id, err := Greet(context.Background(), board.New(board.Options{}), 2)
	require.NoError(t, err)
	require.EqualValues(t, protocol.BoardVirtual, id.Board)
	require.EqualValues(t, board.TickHz, id.TickHz)
}

func TestGreetTellsWhatIsThere(t *testing.T) {
	silence := make([][]byte, 6)
	other := protocol.Identity{Protocol: protocol.Version + 1}
	for name, c := range map[string]struct {
		says [][]byte
		want error
	}{
		"nothing":                 {nil, ErrNoAnswer},
		"talk at the start only":  {[][]byte{[]byte("hello\r\n")}, ErrNoAnswer},
		"talk in the end":         {append(silence[:5:5], []byte("ok\r\n")), ErrForeign},
		"frames of another sort":  {append(silence[:5:5], frame.Append(nil, []byte{0x55})), ErrForeign},
		"another wire's identity": {[][]byte{frame.Append(nil, other.AppendTo(nil))}, &protocol.VersionError{Board: protocol.Version + 1}},
	} {
		_, err := Greet(context.Background(), &far{says: c.says}, 2)
		require.Equal(t, c.want, err, name)
	}
}

func TestGreetAmongNoise(t *testing.T) {
	noise := struct {
		io.Reader
		io.Writer
	}{noise{}, io.Discard}
	_, err := Greet(context.Background(), noise, 3)
	require.Equal(t, ErrForeign, err)
}

type noise struct{}

func (noise) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(i)
	}
	return len(p), nil
}

func TestGreetStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	f := &far{}
	_, err := Greet(ctx, f, 3)
	require.ErrorIs(t, err, context.Canceled)
	require.Zero(t, f.reads)
}

// bootLoader waits for two reads, a second with the usual time-out, before it
// starts the board's program; each byte makes it wait anew.
type bootLoader struct {
	far
	left int
}

func (b *bootLoader) Read(p []byte) (int, error) {
	if b.left > 0 {
		b.left--
		return 0, os.ErrDeadlineExceeded
	}
	return b.far.Read(p)
}

func (b *bootLoader) Write(p []byte) (int, error) {
	if b.left > 0 {
		b.left = 2
		return len(p), nil
	}
	b.says, b.reads = [][]byte{frame.Append(nil, (&protocol.Identity{Protocol: protocol.Version}).AppendTo(nil))}, 0
	return len(p), nil
}

// A boot loader that every byte starts over is not kept from ever starting the
// board.
func TestGreetLeavesABootLoaderAlone(t *testing.T) {
	for left := range 3 {
		_, err := Greet(context.Background(), &bootLoader{left: left}, 2)
		require.NoError(t, err, left)
	}
}
