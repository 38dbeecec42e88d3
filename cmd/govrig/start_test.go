package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Told nothing, govrig says how to begin, and what it says works.
func TestStartPage(t *testing.T) {
	t.Chdir(t.TempDir())
	var out, complaints bytes.Buffer
	page := streams{in: strings.NewReader(""), out: &out, err: &complaints}
	require.Equal(t, exitPass, run(context.Background(), nil, page))
	require.Equal(t, startPage, out.String())
	require.Empty(t, complaints.String())
	ran := 0
	for line := range strings.Lines(startPage) {
		if words, ok := strings.CutPrefix(line, "  govrig "); ok {
			words, _, _ = strings.Cut(words, "   ")
			if words == "ports" {
				words += " --no-ask" // there may be ports here
			}
			ctx, end := context.WithCancel(context.Background())
			if words == "bench" { // stays until it is ended
				words += " --no-browser"
				end()
			}
			require.Equal(t, exitPass, run(ctx, strings.Fields(words), page), complaints.String())
			end()
			ran++
		}
	}
	require.Equal(t, 4, ran)
	require.Equal(t, exitUsage, run(context.Background(), []string{"loadstpe"}, page))
	require.Contains(t, complaints.String(), "Did you mean this?\n\tloadstep")
}

// A double click opens the bench page; what is typed is done as it is typed.
func TestDoubleClick(t *testing.T) {
	require.Equal(t, []string{"bench"}, asked(nil, true))
	require.Empty(t, asked(nil, false))
	require.Equal(t, []string{"ports"}, asked([]string{"ports"}, true))
}
