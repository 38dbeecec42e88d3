package byhand

import (
	"context"
	"errors"
	"time"

	"govrig/rig/execution"
)

// ErrLetGo is a hold that was let go: the terminal or the page is gone, or gave no
// sign of life for too long.
var ErrLetGo = errors.New("nobody holds the controls any more: the board has been told to play nothing")

// Hold is a person's hold on the room, from a terminal or a page: orders come through
// it, and signs of life. When either has not come for so long, the room ends.
type Hold struct {
	orders chan string
	alive  chan struct{}
	gone   chan struct{}
	limit  time.Duration
	after  func(time.Duration) <-chan time.Time
}

// NewHold is a hold that has to give a sign of life within limit of the one before;
// after is time.After.
func NewHold(limit time.Duration, after func(time.Duration) <-chan time.Time) *Hold {
	return &Hold{
		orders: make(chan string), alive: make(chan struct{}, 1), gone: make(chan struct{}), limit: limit, after: after,
	}
}

// Order gives an order, once the one before is followed; it is a sign of life, too.
// It is lost where ctx ends first.
func (h *Hold) Order(ctx context.Context, text string) {
	select {
	case h.orders <- text:
	case <-ctx.Done():
	}
}

// Beat gives a sign of life.
func (h *Hold) Beat() {
	select {
	case h.alive <- struct{}{}:
	default:
	}
}

// LetGo ends the hold. It may be called once.
func (h *Hold) LetGo() { close(h.gone) }

// Ask is a bench's: it waits for the next order.
func (h *Hold) Ask(ctx context.Context, _ execution.Question) (string, error) {
	for {
		select {
		case order := <-h.orders:
			return order, nil
		case <-h.alive:
		case <-h.gone:
			return "", ErrLetGo
		case <-h.after(h.limit):
			return "", ErrLetGo
		case <-ctx.Done():
			return "", ctx.Err()
		}
	}
}
