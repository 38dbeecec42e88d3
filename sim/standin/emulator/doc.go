// Package emulator is the emulated board: the real firmware, executed
// instruction by instruction in a process of its own, in lockstep with the
// host.
//
// The process is the harness of firmware-notes/emulator; its README tells what
// is modelled. A Board behaves like a serial port whose time stands still
// while nobody reads: Write puts bytes on the wire at the present tick, Read
// lets the board run until the end of its next frame. The stand-in governor,
// jumpers or a turned sensor are joined to its pins, and may be changed in mid
// run. A tick is a cycle of the board's 16 MHz clock, counted
// from power-on in an int64 that never wraps. The same calls give the same
// bytes at the same ticks, every time.
//
// Nothing here has been compared with silicon.
package emulator
