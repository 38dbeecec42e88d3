package gallery

// deadBand is a PI law that does nothing while the error is within half a band,
// rad/s, and takes the error from the band's edge beyond. For small changes it
// has no response; for large ones that of its PI.
type deadBand struct {
	pi
	half float64
}

func (l *deadBand) run(set, speed, stick float64) float64 {
	e := set - speed
	switch {
	case e > l.half:
		e -= l.half
	case e < -l.half:
		e += l.half
	default:
		e = 0
	}
	return l.pi.run(speed+e, speed, stick)
}
