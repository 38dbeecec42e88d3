package main

import (
	"context"
	"os"

	"golang.org/x/sys/unix"
)

// lookEvery is how often watchReader looks whether it is still wanted, ms.
const lookEvery = 200

// watchReader tells lost when the far end of f is closed, be it long before the
// next word is said there. It ends with ctx.
func watchReader(ctx context.Context, f *os.File, lost func()) {
	for ctx.Err() == nil {
		fds := []unix.PollFd{{Fd: int32(f.Fd())}}
		if _, err := unix.Poll(fds, lookEvery); err == nil && fds[0].Revents&(unix.POLLERR|unix.POLLHUP) != 0 {
			lost()
			return
		}
	}
}
