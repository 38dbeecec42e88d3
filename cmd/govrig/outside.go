package main

import (
	"errors"
	"io"
	"os"
	"strings"

	"govrig/protocol/harmless"
)

// cleaned gives a stream on which nothing from outside is more than text, and
// what was typed, be it the name of a file, is on one line.
func cleaned(to io.Writer, args []string) io.Writer {
	var names []string
	for _, arg := range args {
		if _, value, flag := strings.Cut(arg, "="); flag && strings.HasPrefix(arg, "-") {
			arg = value
		}
		if line := harmless.Line(arg); line != arg && arg != "" {
			names = append(names, arg, line)
		}
	}
	to = harmless.NewWriter(to)
	if names == nil {
		return to
	}
	return &named{to, strings.NewReplacer(names...)}
}

// named is a stream on which names are shown by others.
type named struct {
	to    io.Writer
	names *strings.Replacer
}

func (n *named) Write(p []byte) (int, error) {
	if _, err := n.names.WriteString(n.to, string(p)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// writeFile writes a file whole or not at all, and nothing from outside raw.
func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := errors.Join(write(harmless.NewWriter(f)), f.Close()); err != nil {
		return errors.Join(err, os.Remove(name))
	}
	return nil
}
