// Package bench is the emulated board as one has it on a bench: served behind a
// pseudo-terminal, with a machine's parts to join to it by typed words.
package bench

import (
	"context"
	"path/filepath"
	"sync"
	"time"

	"govrig/sim/machine"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/emulator"
)

// Bench is an emulated board with a machine's parts to join to it.
type Bench struct {
	// Board is the emulated board.
	Board *emulator.Board
	// Machine gives the parts.
	Machine *machine.Machine
}

// Open switches the board on, with the machine's stand-in governor on its lines.
// notes is the project's folder firmware-notes; patience and way are those of
// emulator.Options.
func Open(notes string, m *machine.Machine, patience time.Duration, way *bridge.Bridge) (*Bench, error) {
	harness, err := emulator.Build(filepath.Join(notes, "emulator"))
	if err != nil {
		return nil, err
	}
	board, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(notes, "firmware", "firmware.hex"), Patience: patience, Bridge: way,
	})
	if err != nil {
		return nil, err
	}
	b := &Bench{board, m}
	if _, err := b.governor(nil); err != nil {
		_ = board.Close() // the reason for the failure is known already
		return nil, err
	}
	return b, nil
}

// Close switches the board off.
func (b *Bench) Close() error { return b.Board.Close() }

// Person is who sits at the bench.
type Person struct {
	// Ready is told the path of the pseudo-terminal, once it can be opened.
	Ready func(path string)
	// Line waits for the next line that is typed, or for the end of its
	// context. There may be text and an error; after an error there is no more.
	Line func(context.Context) (string, error)
	// Say is told the answer to a line.
	Say func(sentence string)
}

// Serve serves the board in step with wall time and does what is typed
// meanwhile, until ctx ends or there is no more to read.
func (b *Bench) Serve(ctx context.Context, p Person) error {
	ctx, done := context.WithCancel(ctx)
	defer done()
	var typed sync.WaitGroup
	err := b.Board.Serve(ctx, func(path string) {
		p.Ready(path)
		typed.Go(func() {
			defer done()
			b.typed(ctx, p)
		})
	})
	done()
	typed.Wait()
	return err
}

// typed does what is typed, line by line, until there is no more.
func (b *Bench) typed(ctx context.Context, p Person) {
	for {
		line, err := p.Line(ctx)
		if answer := b.Do(line); answer != "" {
			p.Say(answer)
		}
		if err != nil {
			return
		}
	}
}
