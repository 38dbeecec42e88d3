package emulator

import "io"

// FirstRegister is the address of the chip's first register in data space;
// there are Registers of them.
const (
	FirstRegister = 0x20
	Registers     = 0xE0
)

// Poke writes a register as the firmware would, or, when it is one that the
// emulator does not model, leaves a value in it: what a boot loader may have
// left behind when the firmware begins.
func (b *Board) Poke(address uint16, value byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.send('P', address, value)
	return b.err
}

// Peek gives what stands in the registers, from FirstRegister on. What they
// hold beside that, like the count of a running timer, is not told.
func (b *Board) Peek() ([Registers]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.send('G')
	if b.err == nil {
		b.fail(b.harness.flush())
	}
	var all [9 + Registers]byte
	if b.err == nil {
		if _, err := io.ReadFull(b.harness.out, all[:]); err != nil {
			b.fail(b.harness.broken(err))
		} else if all[0] != 'v' {
			b.fail(b.harness.complaint(0))
		}
	}
	return [Registers]byte(all[9:]), b.err
}
