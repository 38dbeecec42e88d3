package link

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"go.bug.st/serial"
)

// OpenError is a port that could not be opened. It says what to do about it.
type OpenError struct {
	Path string
	Err  error
}

func (e *OpenError) Error() string {
	return fmt.Sprintf("cannot open the port %s: %v%s", e.Path, e.Err, advice(e.Path, e.Err))
}

func (e *OpenError) Unwrap() error { return e.Err }

// InUseError is a port that other programs have open.
type InUseError struct {
	By []string // the programs, with their process numbers
}

func (e *InUseError) Error() string { return "it is in use by " + strings.Join(e.By, " and ") }

// Busy reports whether the port could not be opened because it is in use.
func (e *OpenError) Busy() bool {
	var used *InUseError
	return errors.As(e.Err, &used) || portCode(e.Err) == serial.PortBusy
}

// Denied reports whether the person may not open it.
func (e *OpenError) Denied() bool {
	return errors.Is(e.Err, os.ErrPermission) || portCode(e.Err) == serial.PermissionDenied
}

// Missing reports whether there is no such port.
func (e *OpenError) Missing() bool {
	return errors.Is(e.Err, os.ErrNotExist) || portCode(e.Err) == serial.PortNotFound
}

func portCode(err error) serial.PortErrorCode {
	if port := (*serial.PortError)(nil); errors.As(err, &port) {
		return port.Code()
	}
	return -1
}

// advice gives what to do about an error of opening.
func advice(path string, err error) string {
	switch e := (&OpenError{Err: err}); {
	case e.Missing():
		return ": plug the board in, and look at the name of the port with govrig ports"
	case e.Denied():
		return ": " + permissionAdvice(path)
	case e.Busy():
		return ": close the other program that uses it (a serial monitor, another govrig; a modem service looks at each new port for a few seconds)"
	case portCode(err) == serial.InvalidSerialPort:
		return ": it is no serial port, or its board was unplugged just now"
	}
	return ""
}
