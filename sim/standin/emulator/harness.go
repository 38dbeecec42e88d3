package emulator

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"sync"
)

// pipeVersion is the version of the pipes' layout that this client speaks.
const pipeVersion = 3

// HarnessError is the harness's own account of why it gave up: what the
// firmware did that is not modelled, or what it was asked that cannot be.
type HarnessError struct {
	Tick int64
	Text string
}

func (e *HarnessError) Error() string {
	return fmt.Sprintf("at tick %d: %s", e.Tick, e.Text)
}

// harness is the process and the two pipes to it. The layout of what goes
// through them is told in the README of firmware-notes/emulator.
type harness struct {
	cmd    *exec.Cmd
	in     *bufio.Writer
	out    *bufio.Reader
	stderr tail
	buf    [16]byte
}

func startHarness(path, firmware string) (*harness, error) {
	h := &harness{cmd: exec.Command(path, firmware)}
	h.cmd.Stderr = &h.stderr
	in, err := h.cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := h.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := h.cmd.Start(); err != nil {
		return nil, fmt.Errorf("cannot start the harness: %w", err)
	}
	h.in, h.out = bufio.NewWriterSize(in, 1<<16), bufio.NewReaderSize(out, 1<<16)
	if err := h.greet(); err != nil {
		h.stop()
		return nil, err
	}
	return h, nil
}

// stop ends the process, whatever it is doing, and waits for its end.
func (h *harness) stop() {
	_ = h.cmd.Process.Kill()
	_ = h.cmd.Wait()
}

func (h *harness) greet() error {
	first, err := h.out.Peek(1)
	if err != nil {
		return h.broken(err)
	}
	if first[0] == 'e' {
		_, err := h.event()
		return err
	}
	b, err := h.take(10)
	if err != nil {
		return err
	}
	if string(b[:4]) != "GVEM" {
		return fmt.Errorf("%s is no harness of this module", h.cmd.Path)
	}
	if v := binary.LittleEndian.Uint16(b[4:]); v != pipeVersion {
		return fmt.Errorf("the harness speaks version %d of the pipes, this program version %d: run make clean harness in firmware-notes/emulator", v, pipeVersion)
	}
	if hz := binary.LittleEndian.Uint32(b[6:]); hz != TickHz {
		return fmt.Errorf("the harness runs at %d Hz, not %d", hz, TickHz)
	}
	return nil
}

// send queues a command; it goes out with the next flush.
func (h *harness) send(command byte, fields ...any) error {
	b := append(h.buf[:0], command)
	for _, f := range fields {
		switch v := f.(type) {
		case int64:
			b = binary.LittleEndian.AppendUint64(b, uint64(v))
		case uint32:
			b = binary.LittleEndian.AppendUint32(b, v)
		case uint16:
			b = binary.LittleEndian.AppendUint16(b, v)
		case byte:
			b = append(b, v)
		case []byte:
			b = append(b, v...)
		}
	}
	_, err := h.in.Write(b)
	return h.lastWords(err)
}

func (h *harness) flush() error {
	return h.lastWords(h.in.Flush())
}

// lastWords turns a failed write into what the harness said before it went.
func (h *harness) lastWords(err error) error {
	if err == nil {
		return nil
	}
	for {
		_, told := h.event()
		if complaint := (*HarnessError)(nil); errors.As(told, &complaint) {
			return complaint
		}
		if told != nil {
			return h.broken(err)
		}
	}
}

// event is one thing the harness tells.
type event struct {
	kind byte // 'p' pins, 'b' byte, 'r' reset, 'd' done
	tick int64
	data [3]byte
}

// event reads the next one. What the harness says before it gives up comes as
// a *HarnessError.
func (h *harness) event() (event, error) {
	b, err := h.take(9)
	if err != nil {
		return event{}, err
	}
	e := event{kind: b[0], tick: int64(binary.LittleEndian.Uint64(b[1:]))}
	switch e.kind {
	case 'd':
		return e, nil
	case 'e':
		return e, h.complaint(e.tick)
	}
	b, err = h.take(len(e.data))
	copy(e.data[:], b)
	return e, err
}

func (h *harness) complaint(tick int64) error {
	b, err := h.take(2)
	if err != nil {
		return err
	}
	text := make([]byte, binary.LittleEndian.Uint16(b))
	if _, err := io.ReadFull(h.out, text); err != nil {
		return h.broken(err)
	}
	return &HarnessError{tick, string(text)}
}

// take reads n bytes, at most the size of the buffer.
func (h *harness) take(n int) ([]byte, error) {
	b := h.buf[:n]
	if _, err := io.ReadFull(h.out, b); err != nil {
		return nil, h.broken(err)
	}
	return b, nil
}

func (h *harness) broken(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("the harness is gone: %w%s", err, h.stderr.text())
}

// tail keeps the start of what the harness prints on its standard error.
type tail struct {
	mu sync.Mutex
	b  []byte
}

const tailMax = 4096

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.b = append(t.b, p[:min(len(p), tailMax-len(t.b))]...)
	return len(p), nil
}

func (t *tail) text() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.b) == 0 {
		return ""
	}
	return "\n" + string(t.b)
}
