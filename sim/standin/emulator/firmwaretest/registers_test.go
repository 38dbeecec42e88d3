package firmwaretest

import (
	"fmt"
	"math/rand/v2"

	"govrig/sim/standin/emulator"
)

// leftover is a register, and the bits of it that a boot loader may leave set,
// or does in any case: timers run at a 1024th of the clock, so that nothing
// happens in one that is in a mode which the emulator has not.
// Not tried, because the emulator cannot run with them: a timer on a pin or on
// its own crystal, timers that are held or without power, and vectors in the boot
// section. chip.c takes those back as well.
type leftover struct {
	address    uint16
	bits, sure byte
}

var leftovers = []leftover{
	{0x24, 0xFF, 0}, {0x25, 0xFF, 0}, {0x27, 0xFF, 0}, {0x28, 0xFF, 0}, {0x2A, 0xFF, 0}, {0x2B, 0xFF, 0}, // DDR and PORT of B, C, D
	{0x80, 0xF3, 0}, {0x81, 0xD8, 0x05}, {0x6F, 0x27, 0}, {0x89, 0xFF, 0}, {0x88, 0xFF, 0}, {0x8B, 0xFF, 0}, {0x8A, 0xFF, 0}, {0x85, 0xFF, 0}, {0x84, 0xFF, 0}, // Timer1
	{0xB0, 0xF3, 0}, {0xB1, 0x08, 0x07}, {0x70, 0x07, 0}, {0xB2, 0xFF, 0}, {0xB3, 0xFF, 0}, {0xB4, 0xFF, 0}, // Timer2
	{0x44, 0xF3, 0}, {0x45, 0x0F, 0}, {0x46, 0xFF, 0}, {0x47, 0xFF, 0}, {0x48, 0xFF, 0}, {0x6E, 0x07, 0}, // Timer0
	{0x50, 0x5F, 0}, {0x7A, 0x9F, 0}, {0x7B, 0x47, 0}, {0x7C, 0xE7, 0}, {0x7E, 0x3F, 0}, {0x7F, 0x03, 0}, // comparator and converter
	{0xC0, 0x02, 0}, {0xC1, 0xFB, 0}, {0xC4, 0xFF, 0}, {0xC5, 0x0F, 0}, // serial port
	{0x3D, 0x03, 0}, {0x68, 0x07, 0}, {0x6B, 0xFF, 0}, {0x6C, 0xFF, 0}, {0x6D, 0xFF, 0}, // pin interrupts
	{0x4C, 0xFF, 0}, {0xBC, 0xFF, 0}, {0x3F, 0x0F, 0}, {0x57, 0x80, 0}, {0x53, 0x0F, 0}, {0x61, 0x0F, 0}, {0x64, 0xA5, 0}, // SPI, two-wire, memories, sleep, clock, power
	{0x60, 0x08, 0}, // watchdog
}

// counts reports whether a register is a timer's count, which runs.
func counts(address uint16) bool {
	return address == 0x84 || address == 0x85 || address == 0xB2 || address == 0x46
}

// startSpoiled starts the firmware anew, with chance in the registers.
func (b *bench) startSpoiled(random *rand.Rand) error {
	const startUp = 14 + 65*millisecond
	if err := b.Reset(); err != nil {
		return err
	}
	b.run(startUp)
	for _, l := range leftovers {
		if err := b.Poke(l.address, l.bits&byte(random.Uint32())|l.sure); err != nil {
			return err
		}
	}
	err := b.RunUntil(b.Now() + 35*millisecond)
	b.edges = map[emulator.Pin][]edge{} // those that the leftovers made until they were taken back
	return err
}

// spoiledRegisters wants the board to begin as from a clean start: the same in
// every register, quiet lines, and every edge at its tick.
func spoiledRegisters(b *bench) error {
	clean, err := b.Peek()
	if err != nil {
		return err
	}
	for seed := range uint64(20) {
		if err := b.startSpoiled(rand.New(rand.NewPCG(seed, 12))); err != nil {
			return err
		}
		found, err := b.Peek()
		if err != nil {
			return err
		}
		for _, l := range leftovers {
			if i := l.address - emulator.FirstRegister; !counts(l.address) && found[i] != clean[i] {
				return fmt.Errorf("register 0x%02X holds 0x%02X after the start, not 0x%02X", l.address, found[i], clean[i])
			}
		}
		b.find()
		p := b.play(settings(), every(50_021))
		p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
		p.rounds(60 * millisecond)
		got := starts(b.pulses(emulator.PickupPin, false))
		if err := firstDifference(p.train(len(got)), got); err != nil {
			return err
		}
		b.latest()
	}
	return nil
}
