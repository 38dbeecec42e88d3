package link

import (
	"bytes"
	"context"
	"time"
)

// bootSpeeds are the speeds of the usual boot loaders: the present one, and
// the old one that many clone boards still carry.
var bootSpeeds = []int{115_200, 57_600}

// Serial boot loaders of these chips speak the protocol of the maker's
// application note AVR061 (from memory): 0x30 0x20 asks whether one is there,
// 0x14 0x10 is yes.
var bootQuestion, bootAnswer = []byte{0x30, 0x20}, []byte{0x14, 0x10}

const (
	// A board needs this long to come out of its restart. A boot loader that
	// gets half a question gives up at once.
	bootSettle    = 250 * time.Millisecond
	bootPatience  = 100 * time.Millisecond
	bootQuestions = 10 // a boot loader blinks first, and then waits for a second or so
)

// BootSpeed restarts the board on a port by opening it and gives the speed at
// which a boot loader answers, or 0. It takes up to three seconds.
func BootSpeed(ctx context.Context, path string) int {
	for _, baud := range bootSpeeds {
		if ctx.Err() == nil && bootAt(ctx, path, baud) {
			return baud
		}
	}
	return 0
}

func bootAt(ctx context.Context, path string, baud int) (found bool) {
	port, err := open(ctx, path, baud, bootPatience)
	if err != nil {
		return false
	}
	defer port.Close()
	select {
	case <-ctx.Done():
		return false
	case <-time.After(bootSettle):
	}
	var heard []byte
	buf := make([]byte, chunkSize)
	for i := 0; i < bootQuestions && ctx.Err() == nil; i++ {
		if _, err := port.Write(bootQuestion); err != nil {
			return false
		}
		n, _ := port.Read(buf)
		heard = append(heard, buf[:n]...)
		if bytes.Contains(heard, bootAnswer) {
			return true
		}
	}
	return false
}
