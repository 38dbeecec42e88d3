package logfile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

const (
	mostBytes = 256 << 20 // of a log
	mostLine  = 1 << 16   // bytes in one line
)

// text reads all of a log as UTF-8, with a note where it was anything else.
func text(r io.Reader) (text, note string, err error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	switch {
	case err != nil:
		return "", "", err
	case len(data) > mostBytes:
		return "", "", fmt.Errorf("%w: the file is larger than %d MiB; cut out the flight that counts", ErrFormat, mostBytes>>20)
	}
	if order := wide(data); order != nil {
		return narrow(data, order), "the file is UTF-16 text and was read as that", nil
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		return latin(data), "the file is not UTF-8 text; it was read as Latin-1 (ISO 8859-1)", nil
	}
	return string(data), "", nil
}

// wide is the order of bytes of UTF-16 text, with its mark or without, or nil.
func wide(data []byte) binary.ByteOrder {
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}):
		return binary.LittleEndian
	case bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return binary.BigEndian
	case len(data) < 4:
		return nil
	case data[1] == 0 && data[3] == 0 && data[0] != 0:
		return binary.LittleEndian
	case data[0] == 0 && data[2] == 0 && data[1] != 0:
		return binary.BigEndian
	}
	return nil
}

// narrow turns UTF-16 into UTF-8, without a mark of byte order.
func narrow(data []byte, order binary.ByteOrder) string {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	return strings.TrimPrefix(string(utf16.Decode(units)), "\ufeff")
}

// latin turns ISO 8859-1 into UTF-8.
func latin(data []byte) string {
	runes := make([]rune, len(data))
	for i, c := range data {
		runes[i] = rune(c)
	}
	return string(runes)
}

// lines cuts a text at its line ends, of whatever system. torn is a last line
// without a line end, which may be half of one.
func lines(text string) (all []string, torn string, err error) {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	all = strings.Split(text, "\n")
	for i, line := range all {
		if len(line) > mostLine {
			return nil, "", fmt.Errorf("%w: line %d is longer than %d bytes; is it a table?", ErrFormat, i+1, mostLine)
		}
	}
	return all[:len(all)-1], all[len(all)-1], nil
}
