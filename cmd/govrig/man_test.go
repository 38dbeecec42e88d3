package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// every calls f with each command but those of cobra itself.
func every(f func(*cobra.Command)) {
	for _, c := range newRoot(streams{in: strings.NewReader(""), out: &bytes.Buffer{}, err: &bytes.Buffer{}}).Commands() {
		f(c)
	}
}

// Each command says what it does in a line, and shows how it is called.
func TestEveryCommandHasAnExample(t *testing.T) {
	n := 0
	every(func(c *cobra.Command) {
		n++
		require.NotEmpty(t, c.Short, c.Name())
		require.False(t, strings.HasSuffix(c.Short, "."), c.Name())
		require.Contains(t, c.Example, "govrig "+c.Name(), c.Name())
		for line := range strings.Lines(c.Example) {
			require.True(t, strings.HasPrefix(line, "  govrig "), "%s: %q", c.Name(), line)
		}
	})
	require.Greater(t, n, 25)
}

// The manual pages are without fault by mandoc's own check, name every flag, and
// are the same each time.
func TestManualPages(t *testing.T) {
	write := func() string {
		dir := filepath.Join(t.TempDir(), "man1")
		var complaints bytes.Buffer
		code := run(context.Background(), []string{"man", dir}, streams{in: strings.NewReader(""), out: &bytes.Buffer{}, err: &complaints})
		require.Equal(t, exitPass, code, complaints.String())
		return dir
	}
	one, two := write(), write()
	pages, err := filepath.Glob(one + "/*.1")
	require.NoError(t, err)
	require.Greater(t, len(pages), 25)
	for _, page := range pages {
		text, err := os.ReadFile(page)
		require.NoError(t, err)
		again, err := os.ReadFile(filepath.Join(two, filepath.Base(page)))
		require.NoError(t, err)
		require.Equal(t, string(text), string(again))
		require.NotContains(t, string(text), "0001")
	}
	said, err := exec.Command("mandoc", append([]string{"-T", "lint", "-W", "error"}, pages...)...).CombinedOutput()
	require.NoError(t, err, string(said))
	text, err := exec.Command("mandoc", "-T", "ascii", one+"/govrig-loadstep.1").Output()
	require.NoError(t, err)
	require.Contains(t, string(text), "govrig loadstep mine.yaml --virtual", "the example")
	require.Contains(t, string(text), "run with a simulated governor", "the flags")
}
