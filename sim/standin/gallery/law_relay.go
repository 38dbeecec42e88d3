package gallery

// relay has two throttles only, and goes from one to the other where the speed is
// off by more than half a band, rad/s: the engine swings for ever, whatever the load
// (Tsypkin, Relay Control Systems, from memory).
type relay struct {
	low, high, half float64
	on              bool
}

func (l *relay) start(share, _ float64) { l.on = share > (l.low+l.high)/2 }

func (l *relay) run(set, speed, _ float64) float64 {
	switch e := set - speed; {
	case e > l.half:
		l.on = true
	case e < -l.half:
		l.on = false
	}
	if l.on {
		return l.high
	}
	return l.low
}

// scale has no gain to multiply.
func (*relay) scale(float64) {}
