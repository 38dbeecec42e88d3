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

// complete gives what the shell is told for the words typed so far.
func complete(t *testing.T, words ...string) string {
	var out bytes.Buffer
	code := run(context.Background(), append([]string{cobra.ShellCompNoDescRequestCmd}, words...), streams{in: strings.NewReader(""), out: &out, err: &bytes.Buffer{}})
	require.Equal(t, exitPass, code)
	return out.String()
}

func TestCompletions(t *testing.T) {
	machine, err := filepath.Abs(root + "/testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	for _, run := range []string{"2026-03-01-193005-loadstep", "2026-03-02-080000-hold"} {
		require.NoError(t, os.MkdirAll("runs/"+run, 0o755))
	}
	filterFiles, filterFolders, ordered := ":8\n", ":16\n", ":36\n" // cobra's directives
	require.Equal(t, "yaml\nyml\n"+filterFiles, complete(t, "plan", ""))
	require.Equal(t, "csv\n"+filterFiles, complete(t, "measure", ""))
	require.Equal(t, "last\n2026-03-02-080000-hold\n2026-03-01-193005-loadstep\n"+ordered, complete(t, "show", ""))
	require.Equal(t, "last\n2026-03-02-080000-hold\n2026-03-01-193005-loadstep\n"+ordered, complete(t, "compare", "last", ""))
	require.Equal(t, filterFolders, complete(t, "hold", "--records", ""))
	require.Equal(t, "hover\ncircuit\nbrisk\nall\n:4\n", complete(t, "hold", machine, "--speed", ""))
	require.Equal(t, ":4\n", complete(t, "hold", "--speed", ""))
	require.True(t, strings.HasSuffix(complete(t, "flash", "--port", ""), ":4\n"))
	require.True(t, strings.HasSuffix(complete(t, "ports", ""), ":4\n"))
}

// Each shell's script is there, and bash takes its own.
func TestCompletionScripts(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		var out bytes.Buffer
		require.Equal(t, exitPass, run(context.Background(), []string{"completion", shell}, streams{in: strings.NewReader(""), out: &out, err: &bytes.Buffer{}}))
		require.Contains(t, out.String(), "govrig")
		if shell == "bash" {
			check := exec.Command("bash", "-n")
			check.Stdin = &out
			said, err := check.CombinedOutput()
			require.NoError(t, err, string(said))
		}
	}
}
