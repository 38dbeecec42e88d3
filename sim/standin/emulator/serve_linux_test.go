package emulator

import (
	"bufio"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// served runs a board behind a pseudo-terminal and gives its path, and a
// function that ends it.
func served(t *testing.T, firmware string) (path string, end func() error) {
	harness, err := built()
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	paths, ended := make(chan string, 1), make(chan error, 1)
	go func() {
		ended <- Serve(ctx, Options{
			Harness:  harness,
			Firmware: filepath.Join(harnessDir, "testfirmware", firmware+".hex"),
			Governor: standIn(t),
		}, func(path string) { paths <- path })
	}()
	select {
	case path = <-paths:
	case err := <-ended:
		require.NoError(t, err)
	}
	return path, func() error {
		cancel()
		return <-ended
	}
}

func openTerminal(t *testing.T, path string) *os.File {
	f, err := os.OpenFile(path, os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	return f
}

// frames reads some frames of the load firmware, from the next whole one on.
func frames(t *testing.T, f *os.File, n int) (last []byte) {
	r := bufio.NewReader(f)
	_, err := r.ReadBytes(0)
	require.NoError(t, err)
	for range n {
		last, err = r.ReadBytes(0)
		require.NoError(t, err)
		require.Len(t, last, frameBytes)
	}
	return last
}

// Hosts come and go, are answered, and hear no echo.
func TestServe(t *testing.T) {
	path, end := served(t, "load")
	for range 3 {
		f := openTerminal(t, path)
		before := frames(t, f, 5)[4]
		_, err := f.Write([]byte{1, 2, 3, 0, 0x0D})
		require.NoError(t, err)
		require.Equal(t, 0x80|(before+19)&0x7F, frames(t, f, 20)[4], "every byte has arrived as it was sent")
		require.NoError(t, f.Close())
	}
	require.NoError(t, end())
}

// A host that holds the port and does not read does not keep the board from
// being ended.
func TestServeWithoutReader(t *testing.T) {
	path, end := served(t, "load")
	f := openTerminal(t, path)
	_, err := f.Write([]byte{1})
	require.NoError(t, err)
	require.NoError(t, end())
	require.NoError(t, f.Close())
}

func TestServeTellsWhatWentWrong(t *testing.T) {
	harness, err := built()
	require.NoError(t, err)
	err = Serve(context.Background(), Options{
		Harness:  harness,
		Firmware: filepath.Join(harnessDir, "testfirmware", "refused.hex"),
	}, func(string) {})
	var told *HarnessError
	require.ErrorAs(t, err, &told)
}

func TestBacklogIsBounded(t *testing.T) {
	var q backlog
	for range 100 {
		q.add(make([]byte, 1000))
	}
	require.Len(t, q, backlogMax)
	q.drop(backlogMax - 1)
	require.Len(t, q, 1)
	q.add([]byte{7})
	require.Equal(t, backlog{0, 7}, q)
}

// A terminal whose host has not opened it, or has closed it, takes and loses
// everything; one whose host does not read takes what fits and no more.
func TestPortWithAndWithoutHost(t *testing.T) {
	p, path, err := openPort()
	require.NoError(t, err)
	defer p.Close()
	plenty := make([]byte, 1<<16)
	n, err := p.send(plenty)
	require.NoError(t, err)
	require.Equal(t, len(plenty), n)

	f := openTerminal(t, path)
	n, err = p.send(plenty)
	require.NoError(t, err)
	require.Greater(t, n, 0)
	require.Less(t, n, len(plenty))
	n, err = p.receive(make([]byte, 8))
	require.NoError(t, err)
	require.Zero(t, n)

	require.NoError(t, f.Close())
	n, err = p.send(plenty)
	require.NoError(t, err)
	require.Equal(t, len(plenty), n)
	n, err = p.receive(make([]byte, 8))
	require.NoError(t, err)
	require.Zero(t, n)
}
