package frame

// crcTable holds the CRC of each single byte for the polynomial 0x1021.
var crcTable = func() (table [256]uint16) {
	for i := range table {
		crc := uint16(i) << 8
		for range 8 {
			carry := crc&0x8000 != 0
			crc <<= 1
			if carry {
				crc ^= 0x1021
			}
		}
		table[i] = crc
	}
	return table
}()

// CRC is CRC-16/IBM-3740 of b: polynomial 0x1021, start 0xFFFF, neither
// reflected nor inverted (name and parameters after the CRC RevEng catalogue).
// It is preferred to the variant that starts at zero because that one cannot
// see leading zero bytes.
func CRC(b []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, c := range b {
		crc = crc<<8 ^ crcTable[byte(crc>>8)^c]
	}
	return crc
}
