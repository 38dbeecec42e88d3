package protocol

import "fmt"

// LengthError is a message that is too short, too long, or ends inside an
// item of its list.
type LengthError struct {
	Message string // its name
	Length  int    // bytes that came, with the id
}

func (e *LengthError) Error() string {
	return fmt.Sprintf("%s cannot be %d bytes long", e.Message, e.Length)
}

// IDError is a message of another kind than the one asked for.
type IDError struct {
	Message string // the name that was wanted
	ID      byte   // the id that came
}

func (e *IDError) Error() string {
	return fmt.Sprintf("id 0x%02X is not that of %s", e.ID, e.Message)
}

// VersionError is a board whose firmware speaks another version of the wire.
type VersionError struct {
	Board uint8 // what the firmware speaks
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("the board's firmware speaks version %d of the wire, this govrig speaks version %d: "+
		"write the firmware that came with this govrig to the board, or use the govrig that came with the firmware",
		e.Board, Version)
}

// CheckVersion reads the two bytes of an Identity that never change and gives
// a *VersionError when the board speaks another version. Use it before Parse.
func CheckVersion(message []byte) error {
	if len(message) < 2 {
		return &LengthError{Message: "Identity", Length: len(message)}
	}
	if message[0] != IdentityID {
		return &IDError{Message: "Identity", ID: message[0]}
	}
	if message[1] != Version {
		return &VersionError{Board: message[1]}
	}
	return nil
}
