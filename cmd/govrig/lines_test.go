package main

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
)

// A line that nobody waits for any more goes to whoever asks next.
func TestLinesAreNotLost(t *testing.T) {
	in := newPipe()
	l := newLines(in)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := l.next(ctx)
	require.ErrorIs(t, err, context.Canceled)
	in.text <- "yes\n"
	text, err := l.next(context.Background())
	require.NoError(t, err)
	require.Equal(t, "yes\n", text)
	close(in.text)
	_, err = l.next(context.Background())
	require.Error(t, err)
}

// pipe is an input that gives what comes.
type pipe struct{ text chan string }

func newPipe() *pipe { return &pipe{make(chan string)} }

func (p *pipe) Read(b []byte) (int, error) {
	text, ok := <-p.text
	if !ok {
		return 0, errors.New("closed")
	}
	return copy(b, text), nil
}
