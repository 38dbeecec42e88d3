package link

import (
	"context"
	"errors"
	"time"

	"go.bug.st/serial"
)

// openTime is how long Open waits for a driver.
const openTime = 3 * time.Second

// Open opens the port at path. Another program that has it open makes that an
// *OpenError, as far as the system tells; while it is open here, the library
// keeps others out where the system can do that.
func Open(ctx context.Context, path string, baud int) (*Port, error) {
	return open(ctx, path, baud, DefaultPatience)
}

// errNotOpened is a driver that does not come to the end of opening its port.
var errNotOpened = errors.New("the port's driver does not answer: unplug the device, or name another port")

func open(ctx context.Context, path string, baud int, patience time.Duration) (*Port, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, openTime, &OpenError{Path: path, Err: errNotOpened})
	defer cancel()
	opened, failed := make(chan *Port), make(chan error, 1)
	go func() { // on some systems this hangs: it is then left behind
		p, err := openNow(path, baud, patience)
		if err != nil {
			failed <- err
			return
		}
		select {
		case opened <- p:
		case <-ctx.Done():
			_ = p.Close() // nobody waits for it any more
		}
	}()
	select {
	case p := <-opened:
		return p, nil
	case err := <-failed:
		return nil, err
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

func openNow(path string, baud int, patience time.Duration) (*Port, error) {
	if users := usersOf(path); len(users) > 0 {
		return nil, &OpenError{Path: path, Err: &InUseError{By: users}}
	}
	release := setLowLatency(path)
	direct := openStraight(path) // before the library locks it
	raw, err := serial.Open(path, &serial.Mode{BaudRate: baud})
	release()
	if err != nil {
		if direct != nil {
			_ = direct.close()
		}
		return nil, &OpenError{Path: path, Err: err}
	}
	keepFromChildren(path)
	// The time-out is set once, here: changing it during a read is a data race.
	if err := raw.SetReadTimeout(pollTime); err != nil {
		return nil, &OpenError{Path: path, Err: errors.Join(err, raw.Close())}
	}
	p := newPort(raw, direct, patience)
	p.setMode = raw.SetMode
	return p, nil
}
