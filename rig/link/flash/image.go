// Package flash writes the firmware to a board through the serial boot loader
// that hobby boards come with. The writing itself is done by avrdude, a free
// program that everybody who has used such boards is likely to have.
package flash

import (
	"bytes"
	"fmt"
	"hash/crc32"

	"github.com/marcinbor85/gohex"
)

// maxSize is the memory below the largest usual boot loader: 32 KiB less 2 KiB,
// in bytes.
const maxSize = 30 << 10

// Image is a firmware that has been checked.
type Image struct {
	// Size is its length in bytes.
	Size int
	// CRC is its CRC-32 (IEEE 802.3).
	CRC uint32

	hex []byte
}

// NewImage checks a firmware given as Intel HEX: every record's own checksum,
// and that it is one piece that starts at 0 and leaves the boot loader alone.
func NewImage(hex []byte) (*Image, error) {
	memory := gohex.NewMemory()
	if err := memory.ParseIntelHex(bytes.NewReader(hex)); err != nil {
		return nil, fmt.Errorf("the firmware is damaged: %w", err)
	}
	pieces := memory.GetDataSegments()
	if len(pieces) != 1 || pieces[0].Address != 0 {
		return nil, fmt.Errorf("the firmware is not one piece from address 0 on")
	}
	data := pieces[0].Data
	if len(data) > maxSize {
		return nil, fmt.Errorf("the firmware has %d bytes; a boot loader leaves room for %d", len(data), maxSize)
	}
	return &Image{Size: len(data), CRC: crc32.ChecksumIEEE(data), hex: hex}, nil
}
