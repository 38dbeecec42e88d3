// Package firmwaretest holds the tests of the real firmware
// (firmware-notes/firmware) on the emulated board. It has no code of its own.
//
// Every figure here is one of the emulation, whose models follow the data
// sheet of the ATmega328P. None was checked on silicon.
package firmwaretest
