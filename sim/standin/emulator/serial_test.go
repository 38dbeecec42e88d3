package emulator

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const (
	bitTicks   = TickHz / 500_000
	byteTicks  = 10 * bitTicks
	sampleTick = 4 // UBRR0 = 3: the receiver samples every fourth cycle
)

func serialBench(t testing.TB, mode byte, options Options) *bench {
	b := newBench(t, "serial", options)
	b.run(1000)
	_, err := b.Write([]byte{mode})
	require.NoError(t, err)
	b.run(b.Now() + 2*byteTicks)
	return b
}

// USART0, Data Overrun: with two characters in the buffer and one in the shift
// register, a new start bit loses the one in the shift register.
func TestReceiveOverrun(t *testing.T) {
	for sent, want := range map[string][]field{
		"ab":    {{"bytes", 2}, {"overrun", 0}, {"frame_error", 0}, {"data", 'a'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'b'}},
		"abc":   {{"bytes", 3}, {"overrun", 0}, {"frame_error", 0}, {"data", 'a'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'b'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'c'}},
		"abcd":  {{"bytes", 3}, {"overrun", 1}, {"frame_error", 0}, {"data", 'a'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'b'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'd'}},
		"abcde": {{"bytes", 3}, {"overrun", 1}, {"frame_error", 0}, {"data", 'a'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'b'}, {"overrun", 0}, {"frame_error", 0}, {"data", 'e'}},
	} {
		b := serialBench(t, 'o', Options{})
		_, err := b.Write([]byte(sent))
		require.NoError(t, err)
		require.NoError(t, b.Drive(ThrottlePin, b.Now()+10*byteTicks, true))
		require.Equal(t, want, b.report(), sent)
		s, err := b.Stats()
		require.NoError(t, err)
		require.EqualValues(t, max(0, len(sent)-3), s.Overruns, sent)
		require.EqualValues(t, 1+len(sent), s.BytesReceived)
	}
}

// A frame takes ten bits, the next one follows without a gap, and UDR is free
// as soon as the first is on its way.
func TestTransmitTiming(t *testing.T) {
	b := serialBench(t, 't', Options{})
	r := make([]byte, 8)
	n, err := b.Read(r)
	require.NoError(t, err)
	require.Equal(t, []byte{0x55, 0xAA, 0}, r[:n])
	end := b.Now()
	written := b.of(Pin{'B', 3}, true)[0]
	free, left := b.of(Pin{'B', 5}, true)[0], b.of(Pin{'B', 4}, true)[0]
	// From UDRE or TXC to the mark: LDS 2, SBRS 2, SBI 2, less than one turn of
	// the loop (LDS 2, SBRS 1, RJMP 2) late.
	const least, most = 4, 6 + 5
	require.True(t, free-written > byteTicks-bitTicks && free-written < byteTicks+bitTicks+most,
		"the second byte waits for the first to leave: %d", free-written)
	require.InDelta(t, byteTicks, left-free, most-least, "two frames without a gap")
	require.Less(t, end-left, int64(byteTicks+bitTicks+64), "then the last byte, at its next bit clock")
	require.GreaterOrEqual(t, end-left, int64(byteTicks-most))
}

// The receiver has a byte in the middle of its stop bit: after 9 bits and the
// sixth of the eight samples of the tenth, counted from the first low sample.
func TestReceiveTiming(t *testing.T) {
	b := serialBench(t, 'e', Options{})
	rapid.Check(t, func(rt *rapid.T) {
		b.run(b.Now() + rapid.Int64Range(2*byteTicks, 4*byteTicks).Draw(rt, "wait"))
		b.edges = b.edges[:0]
		start := b.Now()
		_, err := b.Write([]byte{rapid.Byte().Draw(rt, "byte")})
		require.NoError(rt, err)
		b.run(start + 2*byteTicks)
		answer := b.of(markPin, true)[0]
		// entry 4, JMP 3, SBI 2; up to one cycle of the RJMP under way.
		early := start + (9*8+5)*sampleTick + 4 + 3 + 2
		require.True(rt, answer >= early && answer <= early+sampleTick-1+1, "%d after %d", answer-early, early)
	})
}

func echo(t testing.TB, b *bench, sent []byte) (received []byte) {
	t.Helper()
	for _, c := range sent {
		_, err := b.Write([]byte{c})
		require.NoError(t, err)
		b.run(b.Now() + 4*byteTicks)
		buf := make([]byte, 8)
		n, err := b.Read(buf)
		require.NoError(t, err)
		received = append(received, buf[:n]...)
	}
	return received
}

func allBytes() []byte {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	return all
}

func TestEcho(t *testing.T) {
	require.Equal(t, allBytes(), echo(t, serialBench(t, 'e', Options{}), allBytes()))
}

// The data sheet's receiver range (USART0, Asynchronous Operational Range) for
// double speed and eight bits: with S = 8, S_F = 4, S_M = 5, D = 8 the slowest
// and the fastest sender are at
//
//	R_slow = (D+1)·S / (S-1 + D·S + S_F) = 0.9600
//	R_fast = (D+2)·S / ((D+1)·S + S_M)   = 1.0390
//
// of the receiver's speed; 1.5 % is the recommended limit. The model wants the
// next start bit's edge after the last vote on the stop bit, which takes one
// sample more: 80/78 in place of 80/77. Inside the range every byte of a full
// wire arrives; well outside not.
func TestReceiverRange(t *testing.T) {
	const slow, fast = 72.0 / 75, 80.0 / 78
	for _, c := range []struct {
		rate float64
		ok   bool
	}{{slow + 0.001, true}, {0.985, true}, {1.015, true}, {fast - 0.001, true}, {slow - 0.03, false}, {fast + 0.03, false}} {
		b := serialBench(t, 'o', Options{})
		b.bit = uint32(256 * bitTicks / c.rate)
		_, err := b.Write(allBytes())
		require.NoError(t, err)
		b.run(b.Now() + 300*byteTicks)
		s, err := b.Stats()
		require.NoError(t, err)
		require.Equal(t, c.ok, s.FrameErrors == 0 && s.BytesReceived == 257, "%v: %+v", c.rate, s)
	}
}

// At another speed than the board's the host hears bytes, but no end of a frame;
// once it has changed its speed, all is as it should be.
func TestHostAtAnotherSpeed(t *testing.T) {
	b := newBench(t, "registers", Options{Baud: 250_000})
	buf := make([]byte, 4096)
	n, err := b.Read(buf)
	require.NoError(t, err)
	require.NotZero(t, n)
	require.NotContains(t, buf[:n], byte(0))
	require.NoError(t, b.SetBaud(500_000))
	require.NoError(t, b.Reset())
	n, err = b.Read(buf)
	require.NoError(t, err)
	require.Contains(t, buf[:n], byte(0))
	require.Error(t, b.SetBaud(0))
}
