//go:build linux

package main

import (
	"context"
	"io"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

func TestKeys(t *testing.T) {
	var orders []string
	press(strings.NewReader("1\x1b[A\x1bOB\x1b[C?z+q"), func(text string) { orders = append(orders, text) })
	require.Equal(t, []string{"stick low", "stick up 5 %", "stick down 5 %", "select up 1 %", "pickup up 2 %", "end"}, orders)
}

// typed has keys pressed at a terminal, each after what came before was seen; after
// the last the terminal is closed, if it is to be.
func typed(t *testing.T, closes bool, steps ...[2]string) (text string, err error) {
	ours, theirs, err := pty.Open()
	require.NoError(t, err)
	o := benchOptions{virtual: true, records: t.TempDir()}
	ended := make(chan error, 1)
	go func() {
		ended <- byHand(context.Background(), streams{in: theirs, out: theirs, err: theirs}, mediumFile, &o)
	}()
	var page strings.Builder
	buffer := make([]byte, 4096)
	for _, step := range steps {
		for !strings.Contains(page.String(), step[0]) {
			n, err := ours.Read(buffer)
			require.NoError(t, err, page.String())
			page.Write(buffer[:n])
		}
		_, err = io.WriteString(ours, step[1])
		require.NoError(t, err)
	}
	if !closes {
		err = <-ended
	}
	require.NoError(t, ours.Close())
	if closes {
		err = <-ended
	}
	return page.String(), err
}

// Keys at a terminal order, what comes of them is shown, and q ends it safely.
func TestManualAtATerminal(t *testing.T) {
	page, err := typed(t, false, [2]string{"q or Ctrl-C   end", "i"}, [2]string{"pickup  3200 rpm", "2"}, [2]string{"stick 1500 µs", " "}, [2]string{"stick 1120 µs  select 1100 µs  pickup     0 rpm", "q"})
	require.NoError(t, err, page)
	require.Contains(t, page, "\r\nstick ", "the carriage is returned")
}

// A terminal that goes ends it, too.
func TestManualWithoutItsTerminal(t *testing.T) {
	_, err := typed(t, true, [2]string{"q or Ctrl-C   end", "i"}, [2]string{"pickup  3200 rpm", "2"})
	require.ErrorContains(t, err, "nobody holds the controls any more")
}

// Through a pipe, orders are lines; the end of them is the end.
func TestManualThroughAPipe(t *testing.T) {
	var out, notes strings.Builder
	code := run(context.Background(), []string{"manual", mediumFile, "--virtual", "--records", ""}, streams{strings.NewReader("pickup idle\nstick 20 %\nend\n"), &out, &notes})
	require.Equal(t, exitPass, code, notes.String())
	code = run(context.Background(), []string{"manual", mediumFile, "--virtual", "--records", ""}, streams{strings.NewReader("pickup idle\n"), &out, &notes})
	require.Equal(t, exitStopped, code, notes.String())
}
