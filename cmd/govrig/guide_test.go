package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// guided gives the commands that the guide gives for what is typed, and what it
// said.
func guided(typed string, there bool, code int) (commands []string, said string) {
	var out bytes.Buffer
	guide(streams{in: strings.NewReader(typed), out: &out, err: io.Discard}, func(string) bool { return there },
		func(args []string) int {
			commands = append(commands, strings.Join(args, "|"))
			return code
		})
	return commands, out.String()
}

func TestGuide(t *testing.T) {
	for _, c := range []struct {
		name, typed string
		there       bool
		want        []string
	}{
		{"nothing", "", false, nil},
		{"Enter", "\n2\n", false, nil},
		{"a first look", "1\r\n", false, []string{"new|example.yaml", "loadstep|example.yaml|--virtual"}},
		{"a second look", "1\n", true, []string{"loadstep|example.yaml|--virtual"}},
		{"the board", "2\n\n", false, []string{"ports"}},
		{"a machine file", "3\n\n3\nmy heli.yaml\n", false, []string{"new|machine.yaml", "new|my heli.yaml"}},
		{"all tests, on the bench", "4\n\"C:\\My Files\\heli.yaml\"\r\nyes\r\n", false, []string{`commission|C:\My Files\heli.yaml`}},
		{"all tests, virtual", "4\nheli.yaml\nno\n", false, []string{"commission|heli.yaml|--virtual"}},
		{"no file after all", "4\n\n2\n", false, []string{"ports"}},
		{"a slip of the finger", "7\n2\n", false, []string{"ports"}},
	} {
		commands, said := guided(c.typed, c.there, exitPass)
		require.Equal(t, c.want, commands, c.name)
		require.Contains(t, said, "What do you want to do?", c.name)
	}
	commands, _ := guided("1\n2\n", false, exitUsage)
	require.Equal(t, []string{"new|example.yaml", "ports"}, commands, "no test without its file, and the window stays open")
	_, said := guided("3\nmy heli.yaml\n", false, exitPass)
	require.Contains(t, said, `> govrig new "my heli.yaml"`)
}

// The guide leaves to a command what is typed after it was chosen.
func TestGuideLeavesTheRestOfTheInput(t *testing.T) {
	in := strings.NewReader("2\nfor the command\n")
	guide(streams{in: in, out: io.Discard, err: io.Discard}, exists, func([]string) int {
		rest, err := io.ReadAll(in)
		require.NoError(t, err)
		require.Equal(t, "for the command\n", string(rest))
		return exitPass
	})
}

// What the guide gives are commands that work.
func TestGuideForReal(t *testing.T) {
	t.Chdir(t.TempDir())
	var out, complaints bytes.Buffer
	io := streams{in: strings.NewReader("1\n"), out: &out, err: &complaints}
	codes := 0
	guide(io, exists, func(args []string) int {
		code := run(context.Background(), args, io)
		codes += code
		return code
	})
	require.Zero(t, codes, complaints.String())
	require.Contains(t, out.String(), "VIRTUAL")
	_, err := os.Stat("runs")
	require.NoError(t, err, "the run is kept")
}

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
			require.Equal(t, exitPass, run(context.Background(), strings.Fields(words), page), complaints.String())
			ran++
		}
	}
	require.Equal(t, 3, ran)
	require.Equal(t, exitUsage, run(context.Background(), []string{"loadstpe"}, page))
	require.Contains(t, complaints.String(), "Did you mean this?\n\tloadstep")
}
