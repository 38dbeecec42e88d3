// Command wiregen writes everything that follows from messages.go and limits.go of
// package protocol:
// the Go code that packs and parses, the firmware's wire.h, and the table of
// messages for people.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

// outputs maps a file, relative to the project's root, to its content.
func outputs(root string) (map[string][]byte, error) {
	s, err := parseSchema(filepath.Join(root, "protocol", "messages.go"), filepath.Join(root, "protocol", "limits.go"))
	if err != nil {
		return nil, err
	}
	code, err := s.golang()
	if err != nil {
		return nil, err
	}
	return map[string][]byte{
		"protocol/wire_gen.go":           code,
		"firmware-notes/firmware/wire.h": s.cheader(),
		"firmware-notes/wire.md":         s.markdown(),
	}, nil
}

func main() {
	root := flag.String("root", ".", "the project's root")
	flag.Parse()
	files, err := outputs(*root)
	for name, content := range files {
		path := filepath.Join(*root, name)
		if err == nil {
			err = os.MkdirAll(filepath.Dir(path), 0o755)
		}
		if err == nil {
			err = os.WriteFile(path, content, 0o644)
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "wiregen:", err)
		os.Exit(1)
	}
}
