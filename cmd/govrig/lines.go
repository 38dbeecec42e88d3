package main

import (
	"bufio"
	"context"
	"io"
)

// lines are what the person types. A line that nobody waits for any more goes
// to whoever asks next.
type lines struct {
	reader *bufio.Reader
	coming chan line // nil while nothing is being read
}

type line struct {
	text string
	err  error
}

func newLines(r io.Reader) *lines { return &lines{reader: bufio.NewReader(r)} }

// next waits for a line, or for the end of ctx. At the end of the input there
// may be text and an error.
func (l *lines) next(ctx context.Context) (string, error) {
	if l.coming == nil {
		coming := make(chan line, 1)
		l.coming = coming
		go func() {
			text, err := l.reader.ReadString('\n')
			coming <- line{text, err}
		}()
	}
	select {
	case got := <-l.coming:
		l.coming = nil
		return got.text, got.err
	case <-ctx.Done():
		return "", ctx.Err()
	}
}
