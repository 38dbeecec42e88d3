package main

import (
	"bytes"
	"context"
	"io"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/commission"
	"govrig/rig/procedure"
	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/emulator/bench"
)

// person is somebody with the emulated board: reads what is printed, joins the
// wires that the step asks for, puts them right where they were wrong, and
// answers.
type person struct {
	bench *bench.Bench

	mu       sync.Mutex
	read     bytes.Buffer // everything
	step     string
	question string
	governor bool // is joined
	asked    []string
}

var stepLine = regexp.MustCompile(`(?m)^\d+ of \d+: (\w+)$`)

func (p *person) Write(text []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if m := stepLine.FindSubmatch(text); m != nil {
		p.step = string(m[1])
	}
	if bytes.HasSuffix(text, []byte(": ")) {
		p.question = string(text)
	}
	return p.read.Write(text)
}

// Read is the answer to the question that was just put.
func (p *person) Read(answer []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.asked = append(p.asked, p.step+": "+p.question)
	word := "yes"
	switch q := p.question; {
	case strings.HasPrefix(q, "Is all of this so"):
		p.join()
	case strings.HasPrefix(q, "selftest has not passed"):
		word = "again"
		p.read.WriteString(p.bench.Do("jumpers"))
	case strings.HasPrefix(q, "How do you turn the shaft?"):
		word = "1500"
		p.read.WriteString(p.bench.Do("turn 1500 rpm"))
	case strings.HasPrefix(q, "Switch the governor off"):
		p.read.WriteString(p.bench.Do("restart"))
	default:
		return 0, io.ErrUnexpectedEOF
	}
	return copy(answer, word+"\n"), nil
}

// join joins what the step wants; the jumpers swapped at first.
func (p *person) join() {
	word := map[string]string{"selftest": "jumpers D9-D8 D10-D7", "pickup": "sensor"}[p.step]
	if word == "" && !p.governor {
		word = "governor"
	}
	p.governor = p.governor || word == "governor"
	p.read.WriteString(p.bench.Do(word))
}

// stays is a board that stays switched on from one step to the next.
type stays struct{ io.ReadWriteCloser }

func (stays) Close() error { return nil }

// commissioned goes through commission with the real firmware in the emulator
// and gives what it came to.
func commissioned(t *testing.T, leaveOut ...string) (*person, *commission.State) {
	m, err := machine.Load(mediumFile)
	require.NoError(t, err)
	at, err := bench.Open(root+"/firmware-notes", m, 0, nil)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, at.Close()) })
	p, b := &person{bench: at}, at.Board
	records := t.TempDir()
	o := benchOptions{records: records, plugged: func() (io.ReadWriteCloser, string) { return stays{b}, "emulated" }}
	var page bytes.Buffer
	err = commissionMachine(context.Background(), streams{in: p, out: &page, err: p}, mediumFile, &o, false, leaveOut)
	t.Logf("%.1f s of the board's time\n%s", float64(b.Now())/emulator.TickHz, page.String())
	if len(leaveOut) == 0 {
		require.NoError(t, err, p.read.String())
	}
	require.Contains(t, page.String(), "\nNOT PROVEN\n", "an emulated board is no hardware")
	require.True(t, strings.HasPrefix(page.String(), "VIRTUAL"), page.String())
	state, err := commission.Open(records, m, false, procedure.All)
	require.NoError(t, err)
	return p, state
}

// The way from the jumpers by the turned pickup to the governed loop, on one
// board of the real firmware that is wired anew between the steps. The steps
// that are left out have tests of their own on the emulated board; all of them
// in one go are in TestCommissionOnTheEmulatedBoard, by the tag long.
func TestCommissionRewiresTheEmulatedBoard(t *testing.T) {
	p, state := commissioned(t,
		"accept", "throttle", "hold", "loadstep", "sweep", "faults")
	for i, name := range []string{"selftest", "pickup", "spoolup"} {
		at := []int{0, 1, 5}[i]
		require.Equal(t, name, state.Steps[at].Name)
		require.True(t, state.Passed(at), "%+v\n%s", state.Steps[at], p.read.String())
		require.True(t, state.Steps[at].Virtual)
	}
	require.Len(t, p.asked, 5, "%q", p.asked)
	read := p.read.String()
	require.Contains(t, read, "The two jumpers are swapped")
	require.Contains(t, read, "missed: pickup pulses missing is 100 %, must be ≤ 0 %")
	require.Contains(t, read, "next: Put the wires right (D9 to D7, D10 to D8) and run the self test again.")
	require.Contains(t, read, "next: Take both jumpers out.", "before anything else is joined")
	require.Less(t, strings.Index(read, "Take both jumpers out"), strings.Index(read, "2 of 10"))
}
