package link

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

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
	return "no rig board found\n  " + strings.Join(lines, "\n  ")
}

// SeveralError is a search in which more than one board answered, none of them
// the one used last.
type SeveralError struct{ Paths []string }

func (e *SeveralError) Error() string {
	return "rig boards answer on " + strings.Join(e.Paths, " and ") + ": name one with --port"
}

// Find finds the rig board: the one used last when it answers, else the first
// that does among the USB ports, and alone. It is remembered as the one used last.
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
	candidates := OnUSB(devices)
	kept := recall(memory)
	last, known := kept.among(devices)
	if known && !slices.Contains(candidates, last) {
		candidates = append(candidates, last)
	}
	port, a, err := first(ctx, candidates, func(d Device) bool { return known && d == last })
	switch {
	case err != nil:
		return nil, Answer{}, err
	case known && a.Device == last:
		remember(memory, a.Device, kept.Baud)
	default:
		remember(memory, a.Device, 0)
	}
	return port, a, nil
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

// graceTime is how long others may take to answer, too, when one has that is not
// the board used last: boards restart within about two seconds.
const graceTime = 2 * time.Second

// found is what came of asking on one port; the port is open where a rig board
// answered.
type found struct {
	port   *Port
	answer Answer
}

// first asks on all devices at once and gives the first that answers, without
// waiting for those that do not. Where another answers soon after, and none is
// the one that is preferred, the person has to say which.
func first(ctx context.Context, devices []Device, preferred func(Device) bool) (*Port, Answer, error) {
	asking, stop := context.WithCancel(ctx)
	all := make(chan found, len(devices))
	for _, d := range devices {
		go func() {
			port, a := ask(asking, d)
			all <- found{port, a}
		}()
	}
	rigs, failed := answering(ctx, all, len(devices), preferred)
	stop()
	for range len(devices) - len(rigs) - len(failed) { // each ends with its context
		if late := <-all; late.port != nil {
			_ = late.port.Close() // it came too late
		}
	}
	switch {
	case ctx.Err() != nil:
		return nil, Answer{}, errors.Join(ctx.Err(), closeAll(rigs))
	case len(rigs) == 0:
		return nil, Answer{}, &NotFoundError{Answers: failed, Driverless: Driverless()}
	case len(rigs) == 1:
		return rigs[0].port, rigs[0].answer, nil
	}
	if i := slices.IndexFunc(rigs, func(f found) bool { return preferred(f.answer.Device) }); i >= 0 {
		chosen := rigs[i]
		_ = closeAll(slices.Delete(rigs, i, i+1)) // they are not used
		return chosen.port, chosen.answer, nil
	}
	several := &SeveralError{}
	for _, f := range rigs {
		several.Paths = append(several.Paths, f.answer.Path)
	}
	slices.Sort(several.Paths)
	return nil, Answer{}, errors.Join(several, closeAll(rigs))
}

// answering collects what comes of asking on n ports, until the preferred one
// answers, or others have had their time after the first that did.
func answering(ctx context.Context, all <-chan found, n int, preferred func(Device) bool) (rigs []found, failed []Answer) {
	var grace <-chan time.Time
	for range n {
		select {
		case f := <-all:
			if f.port == nil {
				failed = append(failed, f.answer)
				continue
			}
			if rigs = append(rigs, f); preferred(f.answer.Device) {
				return rigs, failed
			}
			if grace == nil {
				grace = time.After(graceTime)
			}
		case <-grace:
			return rigs, failed
		case <-ctx.Done():
			return rigs, failed
		}
	}
	return rigs, failed
}

func closeAll(all []found) (err error) {
	for _, f := range all {
		err = errors.Join(err, f.port.Close())
	}
	return err
}
