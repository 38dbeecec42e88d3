package link

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"govrig/rig"
)

// NotFoundError is a search in which no rig board answered.
type NotFoundError struct {
	// Answers are those of the ports that were asked.
	Answers []Answer
	// Driverless names USB chips of hobby boards that have no port.
	Driverless []string
}

func (e *NotFoundError) Error() string {
	var lines []string
	for _, a := range e.Answers {
		line := a.Path + ": " + a.Err.Error()
		if a.Boot != 0 {
			line += fmt.Sprintf("; a boot loader answers, at %d baud: govrig flash --port %s writes the firmware", a.Boot, a.Path)
		}
		lines = append(lines, line)
	}
	lines = append(lines, e.Driverless...)
	if len(lines) == 0 {
		lines = append(lines, "no serial port on USB: plug the board in, with a cable that carries data; "+driverAdvice)
	}
	return "link: no rig board found\n  " + strings.Join(lines, "\n  ")
}

// SeveralError is a search in which more than one board answered, none of them
// the one used last.
type SeveralError struct{ Paths []string }

func (e *SeveralError) Error() string {
	return "link: rig boards answer on " + strings.Join(e.Paths, " and ") + ": name one with --port"
}

// Find finds the rig board: the one used last when it answers, else the only
// one that does among the USB ports. It is remembered as the one used last.
// The port is left open, so that the board is not restarted once more, at the
// speed that rig.Connect finds, or at baud when that is not 0.
func Find(ctx context.Context, baud int) (*Port, string, rig.Connection, error) {
	devices, err := Devices(ctx)
	if err != nil {
		return nil, "", rig.Connection{}, err
	}
	file := memoryFile()
	port, a, err := find(ctx, devices, file)
	if err != nil {
		return nil, "", rig.Connection{}, err
	}
	port, c, err := settle(ctx, port, a.Device, baud, file)
	return port, a.Path, c, err
}

func find(ctx context.Context, devices []Device, memory string) (*Port, Answer, error) {
	var failed []Answer
	candidates := OnUSB(devices)
	kept := recall(memory)
	if last, ok := kept.among(devices); ok {
		port, a := ask(ctx, last)
		if port != nil {
			remember(memory, a.Device, kept.Baud)
			return port, a, nil
		}
		failed = append(failed, a)
		candidates = slices.DeleteFunc(candidates, func(d Device) bool { return d.Path == last.Path })
	}
	port, a, err := findOther(ctx, candidates, failed)
	if err == nil {
		remember(memory, a.Device, 0)
	}
	return port, a, err
}

// OnUSB gives the devices that may be asked unnamed: other ports belong to
// devices that a stray message or a restart may upset.
func OnUSB(devices []Device) (usb []Device) {
	for _, d := range devices {
		if d.USB {
			usb = append(usb, d)
		}
	}
	return usb
}

// findOther asks all devices at once and gives the one that answers; failed
// are those that did not before.
func findOther(ctx context.Context, devices []Device, failed []Answer) (*Port, Answer, error) {
	ports := make([]*Port, len(devices))
	answers := make([]Answer, len(devices))
	var all sync.WaitGroup
	for i, d := range devices {
		all.Go(func() { ports[i], answers[i] = ask(ctx, d) })
	}
	all.Wait()
	var found []int
	for i, p := range ports {
		if p != nil {
			found = append(found, i)
		}
	}
	switch {
	case len(found) == 1:
		return ports[found[0]], answers[found[0]], nil
	case ctx.Err() != nil:
		return nil, Answer{}, errors.Join(ctx.Err(), closeAll(ports))
	case len(found) == 0:
		return nil, Answer{}, &NotFoundError{Answers: append(failed, answers...), Driverless: Driverless()}
	}
	several := &SeveralError{}
	for _, i := range found {
		several.Paths = append(several.Paths, answers[i].Path)
	}
	return nil, Answer{}, errors.Join(several, closeAll(ports))
}

func closeAll(ports []*Port) (err error) {
	for _, p := range ports {
		if p != nil {
			err = errors.Join(err, p.Close())
		}
	}
	return err
}
