// Package firmware carries the built firmware of the board inside the program,
// so that flashing needs no compiler and no other file.
package firmware

import _ "embed"

// Hex is the built firmware as Intel HEX, for an ATmega328P at 16 MHz. The
// checks rebuild it from the sources beside this file, byte for byte.
//
//go:embed firmware/firmware.hex
var Hex []byte

// Version of the firmware in Hex.
const (
	Major = 1
	Minor = 3
)
