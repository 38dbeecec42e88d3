package governor

// remembered is how many pulses a governor remembers: more than pass in the
// longest dead time that is worth the name of governing.
const remembered = 128

// history is the newest pickup pulses, for a law that sees a speed of a known age.
type history struct {
	ticks  [remembered]int64
	pulses [remembered]int64 // that end there, since the entry before
	newest int
	known  int
	value  float64 // pulses per tick before the first interval is known
}

// begin forgets all but one pulse; value holds until the next.
func (h *history) begin(tick int64, value float64) {
	h.newest, h.known, h.value = 0, 1, value
	h.ticks[0] = tick
}

// add takes in a pulse that ends so many.
func (h *history) add(tick, n int64) {
	h.newest = (h.newest + 1) % remembered
	h.ticks[h.newest], h.pulses[h.newest] = tick, n
	h.known = min(h.known+1, remembered)
}

// rate is the pulses per tick in the interval that holds a moment, a tick, or in one
// so many pulses before it: the newest where that has not come yet, and the oldest
// that is remembered where it is older.
func (h *history) rate(moment, pulses float64) float64 {
	rate := h.value
	for back := range h.known - 1 {
		i := (h.newest - back + remembered) % remembered
		from := h.ticks[(i-1+remembered)%remembered]
		rate = float64(h.pulses[i]) / float64(h.ticks[i]-from)
		if float64(from) <= moment-pulses/rate {
			break
		}
	}
	return rate
}
