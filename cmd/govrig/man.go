package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// newManCommand is for those who package govrig.
func newManCommand(io streams) *cobra.Command {
	return &cobra.Command{
		Use:   "man FOLDER",
		Short: "Write the manual pages",
		Long: `Writes a manual page for each command into a folder, which is made if need be.
The pages are those of this govrig: the same each time they are written.`,
		Example: "  govrig man ~/.local/share/man/man1 && man govrig-loadstep",
		Hidden:  true,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			n, err := writeManual(c.Root(), args[0])
			if err != nil {
				return fmt.Errorf("manual pages: %w", err)
			}
			fmt.Fprintf(io.err, "Wrote %d manual pages to %s.\n", n, args[0])
			return nil
		},
	}
}

// writeManual writes the pages and gives their number. They carry no day, so
// that they are the same each time.
func writeManual(root *cobra.Command, folder string) (int, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return 0, err
	}
	root.DisableAutoGenTag = true
	header := &doc.GenManHeader{Section: "1", Source: "govrig " + version(), Manual: "govrig", Date: &time.Time{}}
	if err := doc.GenManTree(root, header, folder); err != nil {
		return 0, err
	}
	pages, err := filepath.Glob(filepath.Join(folder, "govrig*.1"))
	for _, page := range pages {
		text, readErr := os.ReadFile(page)
		text = bytes.Replace(text, []byte(header.Date.Format(`"Jan 2006"`)), []byte(`""`), 1)
		err = errors.Join(err, readErr, os.WriteFile(page, text, 0o644))
	}
	return len(pages), err
}
