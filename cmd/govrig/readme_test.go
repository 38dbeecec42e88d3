//go:build !race

package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the README has a newcomer type runs as it stands there, in its order, and
// gives what it says: a page, and a governor that no engine may be started with.
func TestReadmeCommands(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	_, section, found := strings.Cut(string(readme), "\n## A first quarter of an hour")
	require.True(t, found)
	section, _, _ = strings.Cut(section, "\n## ")
	typed := regexp.MustCompile(`(?m)^    govrig (.*)$`).FindAllStringSubmatch(section, -1)
	require.Len(t, typed, 5)
	t.Chdir(t.TempDir())
	var last string
	for i, line := range typed {
		if i == len(typed)-1 {
			makeQuirky(t, section)
		}
		var out, complaints bytes.Buffer
		code := run(context.Background(), parted(line[1]), streams{in: strings.NewReader(""), out: &out, err: &complaints})
		require.Contains(t, []int{0, exitFail}, code, "%s\n%s", line[1], complaints.String())
		last = out.String()
	}
	require.FileExists(t, "mine.html")
	require.Contains(t, last, "NOT SAFE")
	require.Contains(t, last, "Start no engine with this governor")
}

// makeQuirky changes the machine file as the section says.
func makeQuirky(t *testing.T, section string) {
	change := regexp.MustCompile("make the line `(.*)` say\n`(.*)`").FindStringSubmatch(section)
	require.NotNil(t, change)
	text, err := os.ReadFile("mine.yaml")
	require.NoError(t, err)
	require.Equal(t, 1, bytes.Count(text, []byte(change[1])))
	require.NoError(t, os.WriteFile("mine.yaml", bytes.Replace(text, []byte(change[1]), []byte(change[2]), 1), 0o644))
}

// parted parts a line as a shell does, with double quotes.
func parted(line string) (all []string) {
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			all = append(all, part)
			continue
		}
		all = append(all, strings.Fields(part)...)
	}
	return all
}
