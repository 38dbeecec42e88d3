// Command govrig plays an engine to a speed governor on the bench.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"github.com/inconshreveable/mousetrap"
)

func main() {
	std := streams{in: os.Stdin, out: os.Stdout, err: os.Stderr}
	command := func(args []string) int {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		return run(ctx, args, std)
	}
	// A double click on Windows opens a window that closes with the program.
	if len(os.Args) == 1 && mousetrap.StartedByExplorer() {
		guide(std, exists, command)
		return
	}
	os.Exit(command(os.Args[1:]))
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
