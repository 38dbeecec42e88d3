// Command govrig plays an engine to a speed governor on the bench.
package main

import (
	"os"

	"github.com/inconshreveable/mousetrap"
)

func main() {
	os.Exit(process(asked(os.Args[1:], mousetrap.StartedByExplorer())))
}

// asked is what the program is to do: what it was told, or, after a double click
// on Windows, the bench page, whose window says what runs and that closing it ends
// that safely.
func asked(args []string, clicked bool) []string {
	if len(args) == 0 && clicked {
		return []string{"bench"}
	}
	return args
}
