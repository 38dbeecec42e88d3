package link_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"govrig/rig"
	"govrig/rig/link"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// How long the host takes from a frame to its answer, with the record kept, beside
// a program that only sends back what it gets, both over a pseudo-terminal and by
// turns of a second:
//
//	go test ./rig/link -run '^$' -bench TurnAround
func BenchmarkTurnAround(b *testing.B) {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(b, err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(b, err)
	far, host := newFar(b), newFar(b)
	virtual := board.New(board.Options{Governor: g})
	_, err = virtual.Read(make([]byte, 1)) // until it has started
	require.ErrorIs(b, err, os.ErrDeadlineExceeded)
	go echo(far.near)
	ended := make(chan error, 1)
	go func() { ended <- govern(m, host.near, filepath.Join(b.TempDir(), "run")) }()
	host.relay(virtual) // Identify and Configure
	host.pass(virtual)  // Configured, to which there is no answer
	var bare, whole []time.Duration
	frame := make([]byte, 29)
	for b.Loop() {
		for range 500 {
			bare = append(bare, far.ask(frame))
			whole = append(whole, host.relay(virtual))
		}
	}
	runtime.KeepAlive(ended)
	p50, p999 := share(bare, 0.5), share(bare, 0.999)
	b.ReportMetric(float64(p50.Microseconds()), "µs-echo-p50")
	b.ReportMetric(float64(p999.Microseconds()), "µs-echo-p99.9")
	b.ReportMetric(float64(share(whole, 0.5).Microseconds()), "µs-host-p50")
	b.ReportMetric(float64(share(whole, 0.999).Microseconds()), "µs-host-p99.9")
	b.ReportMetric(float64(share(whole, 0.5))/float64(p50), "×p50")
	b.ReportMetric(float64(share(whole, 0.999))/float64(p999), "×p99.9")
	b.ReportMetric(0, "ns/op")
}

func share(all []time.Duration, of float64) time.Duration {
	slices.Sort(all)
	return all[int(of*float64(len(all)-1))]
}

// far is the board's end of a pseudo-terminal.
type far struct {
	tb   testing.TB
	file *os.File
	fd   int
	near string
	buf  [512]byte
	sent bytes.Buffer
}

func newFar(tb testing.TB) *far {
	file, near, err := pty.Open()
	require.NoError(tb, err)
	raw(tb, near)
	fd := int(file.Fd())
	f := &far{tb: tb, file: file, fd: fd, near: near.Name()}
	tb.Cleanup(func() { file.Close(); near.Close() })
	return f
}

// raw stops a terminal from echoing and editing, as cfmakeraw(3) does.
func raw(tb testing.TB, f *os.File) {
	t, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS)
	require.NoError(tb, err)
	t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
	t.Oflag &^= unix.OPOST
	t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	require.NoError(tb, unix.IoctlSetTermios(int(f.Fd()), unix.TCSETS, t))
}

// ask sends bytes and gives the time until a zero byte, the end of a frame, came
// back. Frames come 2 ms apart, half of them to either.
func (f *far) ask(sent []byte) time.Duration {
	time.Sleep(time.Millisecond)
	start := time.Now()
	if _, err := unix.Write(f.fd, sent); err != nil {
		f.tb.Fatal(err)
	}
	f.sent.Reset()
	for {
		n, err := unix.Read(f.fd, f.buf[:])
		if err != nil {
			f.tb.Fatal(err)
		}
		f.sent.Write(f.buf[:n])
		if bytes.IndexByte(f.buf[:n], 0) >= 0 {
			return time.Since(start)
		}
	}
}

// relay passes the next frame of a board on and the answer back.
func (f *far) relay(virtual *board.Board) time.Duration {
	if f.sent.Len() == 0 { // the host speaks first
		time.Sleep(100 * time.Millisecond)
		n, err := unix.Read(f.fd, f.buf[:])
		if err != nil {
			f.tb.Fatal(err)
		}
		f.sent.Write(f.buf[:n])
	}
	return f.ask(f.next(virtual))
}

// pass passes the next frame of a board on.
func (f *far) pass(virtual *board.Board) {
	if _, err := unix.Write(f.fd, f.next(virtual)); err != nil {
		f.tb.Fatal(err)
	}
	f.sent.Reset()
	f.sent.WriteByte(0)
}

// next gives the board what the host has sent, and gives its next frame.
func (f *far) next(virtual *board.Board) []byte {
	if _, err := virtual.Write(f.sent.Bytes()); err != nil {
		f.tb.Fatal(err)
	}
	frame := make([]byte, 512)
	n, err := virtual.Read(frame)
	if err != nil {
		f.tb.Fatal(err)
	}
	return frame[:n]
}

// echo sends back what it gets, without anything between.
func echo(near string) {
	runtime.LockOSThread()
	fd, err := unix.Open(near, unix.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		return
	}
	defer unix.Close(fd)
	var buf [512]byte
	for {
		n, err := unix.Read(fd, buf[:])
		if err != nil || n == 0 {
			return
		}
		if _, err = unix.Write(fd, buf[:n]); err != nil {
			return
		}
	}
}

// govern runs a loop on the port until it goes away.
func govern(m *machine.Machine, near, dir string) error {
	port, err := link.Open(context.Background(), near, 500_000)
	if err != nil {
		return err
	}
	session, err := rig.Open(context.Background(), port, rig.Settings{})
	if err != nil {
		return err
	}
	record, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz, Procedure: "turn-around"})
	if err != nil {
		return err
	}
	phase := rig.Phase{
		Name: "governed", Steps: 1 << 40, Stick: 1600 * time.Microsecond, Select: 1420 * time.Microsecond,
		Collective: float64(m.LoadStep.CollectiveLow),
	}
	loop := rig.NewLoop(rig.Setup{
		Plant: heli.New(m.HeliParams(), 250e-6), StepTicks: 4_000, TickRate: board.TickHz, Magnets: 1,
	}, rig.Script{Phases: []rig.Phase{phase}})
	start := time.Now()
	session.Clock = func() time.Duration { return time.Since(start) }
	err = session.Run(context.Background(), loop, record, func(*runlog.Sample) {})
	return fmt.Errorf("ended: %w", err)
}
