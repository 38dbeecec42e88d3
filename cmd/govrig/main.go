// Command govrig plays an engine to a speed governor on the bench.
package main

import (
	"os"

	"github.com/inconshreveable/mousetrap"
)

func main() {
	// A double click on Windows opens a window that closes with the program.
	if len(os.Args) == 1 && mousetrap.StartedByExplorer() {
		guide(streams{in: os.Stdin, out: os.Stdout, err: os.Stderr}, exists, process)
		return
	}
	os.Exit(process(os.Args[1:]))
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
