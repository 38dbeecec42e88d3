package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A folder of records that cannot be one is wrong use, said with the remedy by
// every command before anything plays or is asked.
func TestRecordsFolderThatIsNone(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	require.NoError(t, os.Symlink(filepath.Join(dir, "nowhere", "at", "all"), link))
	read := [][]string{{"runs"}, {"show", "last"}, {"show", "x"}, {"compare", "x", "y"}, {"export", "x", "--csv"}, {"replay", "x"}, {"report", "x"}, {"report", mediumFile}}
	played := [][]string{{"selftest", "--virtual"}, {"pickup", mediumFile, "--virtual"}, {"commission", mediumFile, "--virtual"}, {"hold", mediumFile, "--port", "/dev/no-such-port"}}
	for _, name := range []string{"accept", "throttle", "hold", "spoolup", "loadstep", "sweep", "tune", "faults"} {
		played = append(played, []string{name, mediumFile, "--virtual"})
	}
	for folder, problem := range map[string]string{file: "is a file", link: "is a link that leads nowhere", "/sys/govrig": "may not be written"} {
		for _, args := range append(played, read...) {
			if folder == "/sys/govrig" && !slices.Contains(args, "--virtual") {
				continue // a folder that is not there can be read as empty
			}
			code, out, complaints := command("yes\n", append(args, "--records", folder)...)
			require.Equal(t, exitUsage, code, "%v: %s", args, complaints)
			require.Contains(t, complaints, problem, args)
			require.Contains(t, complaints, "name another with --records", args)
			require.Empty(t, out, args)
			require.NotContains(t, complaints, "Finds out", "the briefing")
			require.NotContains(t, strings.ToLower(complaints), "looking for the board")
		}
	}
	ready := filepath.Join(dir, "new", "folder")
	code, _, complaints := command("", "selftest", "--virtual", "--records", ready)
	require.Equal(t, exitPass, code, complaints)
	kept, err := filepath.Glob(ready + "/*")
	require.NoError(t, err)
	require.Len(t, kept, 1, "the trial of the folder leaves nothing")
}
