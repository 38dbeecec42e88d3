package gallery

// servoLine times the pulses of a receiver.
type servoLine struct {
	rise, fall int64
	high       bool
	width      int64 // of the newest, ticks; 0 while none has come
}

func (s *servoLine) edge(tick int64, high bool) {
	switch {
	case high:
		s.rise = tick
	case s.high:
		s.width, s.fall = tick-s.rise, tick
	}
	s.high = high
}

// silent is for how many ticks no pulse has ended.
func (s *servoLine) silent(now int64) int64 { return now - s.fall }
