package bench

import (
	"context"
	"errors"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
)

const root = "../../../.."

// newBench is the medium machine beside the real firmware in the emulator.
func newBench(t *testing.T) *Bench {
	m, err := machine.Load(root + "/testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	b, err := Open(root+"/firmware-notes", m, 0, nil)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	return b
}

// Every word is answered, in any case of letters; what cannot be done is told
// with what can.
func TestWordsAreAnswered(t *testing.T) {
	b := newBench(t)
	require.Equal(t, "Nothing is joined.", b.Do("nothing"))
	for _, c := range []struct{ line, answer string }{
		{"gain up", "Not done: no governor is joined."},
		{"governor", "The governor is on its lines."},
		{"Gain down", "The gain is turned a click down."},
		{"gain sideways", "Not done: gain goes up or down."},
		{"restart", "The governor is off, and on again in a second."},
		{"jumpers", "Jumpers are in: D9-D7, D10-D8; nothing else is joined."},
		{"jumpers D11-D8", "Jumpers are in: D11-D8; nothing else is joined."},
		{"jumpers D9-D10", `Not done: "d9-d10" is no jumper from D9, D10 or D11 to D7 or D8, such as D9-D7.`},
		{"sensor", "The pickup is on the probe, the shaft at rest; the line begins low."},
		{"turn 1500 rpm", "The shaft is turned at 1500 rpm; the line begins low."},
		{"turn 10", "The shaft is turned by hand, 10 turns; the line begins low."},
		{"turn fast", "Not done: turn takes a speed, such as 1500 rpm, or a number of turns by hand, such as 10."},
		{"stop", "The pickup is on the probe, the shaft at rest; the line begins low."},
		{"nothing", "Nothing is joined."},
		{"restart", "Not done: no governor is joined."},
		{"  ", ""},
	} {
		require.Equal(t, c.answer, b.Do(c.line), c.line)
		require.NoError(t, b.Board.RunUntil(b.Board.Now()+emulator.TickHz/50))
	}
	require.Contains(t, b.Do("help"), "\"help\" is not known here. What can be typed")
}

// The bench ends when nobody can type any more, after the last line was done,
// and when its context ends.
func TestServeEnds(t *testing.T) {
	var said []string
	person := Person{
		Ready: func(path string) { require.NotEmpty(t, path) },
		Line:  func(context.Context) (string, error) { return "nothing", io.EOF },
		Say:   func(sentence string) { said = append(said, sentence) },
	}
	require.NoError(t, newBench(t).Serve(context.Background(), person))
	require.Equal(t, []string{"Nothing is joined."}, said)

	ctx, stop := context.WithCancelCause(context.Background())
	person.Line = func(ctx context.Context) (string, error) {
		stop(errors.New("done"))
		<-ctx.Done()
		return "", ctx.Err()
	}
	require.NoError(t, newBench(t).Serve(ctx, person))
}
