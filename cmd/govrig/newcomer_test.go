//go:build !race && linux

package main

import (
	"context"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// newcomer sits at a terminal with a board that has nothing on it, and knows
// no more of govrig than what it prints: which pin goes where, what is to be
// done, and which answers there are.
type newcomer struct {
	t        *testing.T
	m        *machine.Machine
	terminal *os.File

	unread   string // printed since the last answer
	wires    board.Options
	joined   []string // pins, as they were joined last
	governor *governor.Governor
	did      []string
}

var (
	printedJumper = regexp.MustCompile(`(D\d+) \([a-z ]+\) to (D\d+) \([a-z ]+\)`)
	printedLine   = regexp.MustCompile(`line \((D\d+)\) to`)
	printedProbe  = regexp.MustCompile(`sensor's output .* to the pickup probe \((D7)\)`)
	printedChoice = regexp.MustCompile(`\[([a-z]+)\]`)
	printedEnd    = regexp.MustCompile(`(\[[a-z]+\][a-z]*|\)): $`)
	printedSpeed  = regexp.MustCompile(`rpm, such as (\d+)`)
)

// read reads what comes until a question stands at its end, or until the end.
// It gives the question.
func (n *newcomer) read() (question string, err error) {
	var buffer [4096]byte
	for {
		count, err := n.terminal.Read(buffer[:])
		n.unread += string(buffer[:count])
		if err != nil {
			return "", err
		}
		last := n.unread[strings.LastIndexByte(n.unread, '\n')+1:]
		if printedEnd.MatchString(last) {
			return last, nil
		}
	}
}

// join puts the wires as the page says: what it names, to where it names.
func (n *newcomer) join() {
	if strings.Contains(n.unread, "connect    as before") {
		require.NotNil(n.t, n.governor)
		n.switchOn()
		n.wires = board.Options{Governor: n.governor}
		return
	}
	o := board.Options{}
	n.joined = nil
	from := map[string]governor.Line{"D9": governor.Pickup, "D10": governor.Stick, "D11": governor.Select}
	to := map[string]board.Input{"D7": board.Probe, "D8": board.Throttle}
	for _, pins := range printedJumper.FindAllStringSubmatch(n.unread, -1) {
		o.Jumpers = append(o.Jumpers, board.Jumper{From: from[pins[1]], To: to[pins[2]]})
		n.joined = append(n.joined, pins[1]+"-"+pins[2])
	}
	if len(o.Jumpers) == 0 {
		for _, pin := range printedLine.FindAllStringSubmatch(n.unread, -1) {
			n.joined = append(n.joined, pin[1])
		}
	}
	if strings.Join(n.joined, " ") == "D9 D10 D11 D8" {
		n.switchOn()
		o.Governor = n.governor
	}
	if pin := printedProbe.FindStringSubmatch(n.unread); pin != nil {
		n.joined = append(n.joined, "sensor-"+pin[1])
		low := n.m.Pickup.Active == machine.Low
		var err error
		o.Turned, err = turned.New(n.m.PickupParams(), low, turned.Stretch{Time: 1}, turned.Stretch{Time: 1, Speed: 157})
		require.NoError(n.t, err)
	}
	require.NotEmpty(n.t, n.joined, "nothing on the page says what to connect:\n%s", n.unread)
	n.wires = o
}

func (n *newcomer) switchOn() {
	var err error
	n.governor, err = governor.New(n.m.GovernorParams(board.TickHz), 0)
	require.NoError(n.t, err)
}

// answer does what a question asks for and gives one of the answers that it
// names.
func (n *newcomer) answer(question string) string {
	n.did = append(n.did, question)
	switch lower := strings.ToLower(question); {
	case strings.Contains(lower, "is all of this so"):
		require.Contains(n.t, n.unread, "could hurt")
		n.join()
	case strings.Contains(lower, "how do you turn"):
		// The drill is about as fast as the page says by way of example.
		return printedSpeed.FindStringSubmatch(question)[1]
	case strings.Contains(lower, "switch the governor off"):
		n.governor.Restart(1.2)
	default:
		require.Fail(n.t, "a question that the page does not prepare for", question)
	}
	choices := printedChoice.FindStringSubmatch(question)
	require.NotNil(n.t, choices, "the question does not say what can be answered: %s", question)
	return choices[1] // the key of the first
}

// A newcomer goes through commission at a terminal, from two jumpers to the
// verdict, by nothing but what it prints, and types every answer.
func TestNewcomerCommissions(t *testing.T) {
	m, err := machine.Load(mediumFile)
	require.NoError(t, err)
	ours, theirs, err := pty.Open()
	require.NoError(t, err)
	n := &newcomer{t: t, m: m, terminal: ours}
	o := benchOptions{records: t.TempDir()}
	o.plugged = func() (io.ReadWriteCloser, string) { return board.New(n.wires), "bench" }
	ended := make(chan error, 1)
	go func() {
		err := commissionMachine(context.Background(), streams{in: theirs, out: theirs, err: theirs}, mediumFile, &o, false, nil)
		theirs.Close()
		ended <- err
	}()
	var page strings.Builder
	for {
		question, err := n.read()
		page.WriteString(n.unread)
		if err != nil {
			break // the terminal was closed
		}
		answer := n.answer(question)
		n.unread = ""
		_, err = io.WriteString(ours, answer+"\n")
		require.NoError(t, err)
	}
	require.NoError(t, ours.Close())
	require.NoError(t, <-ended, page.String())
	require.Len(t, n.did, 12, "%q", n.did) // nine steps, the turning, two restarts
	require.Contains(t, page.String(), "NOT PROVEN", "a virtual board is no hardware")
	steps := stepLine.FindAllString(strings.ReplaceAll(page.String(), "\r", ""), -1)
	require.Len(t, steps, 10)
}
