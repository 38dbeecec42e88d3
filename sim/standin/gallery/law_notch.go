package gallery

// notch is a PI law whose error passes a notch and a lead first,
// (z² − 2·r·c·z + r²)/(z² − 2·p·c·z + p²) at unit gain for steady errors: it leaves out
// a swing of one frequency, at which c is the cosine of a step's angle (any text-book
// of digital filters), and is late below it and early above.
type notch struct {
	pi
	r, p, c      float64
	e, e2, y, y2 float64 // inputs and outputs of the two steps before
	begun        bool
}

func (l *notch) start(share, speed float64) {
	l.pi.start(share, speed)
	l.begun = false
}

// unit is what makes the gain for steady errors 1.
func (l *notch) unit() float64 {
	return (1 - 2*l.p*l.c + l.p*l.p) / (1 - 2*l.r*l.c + l.r*l.r)
}

func (l *notch) run(set, speed, stick float64) float64 {
	e := set - speed
	if !l.begun {
		l.e, l.e2, l.y, l.y2, l.begun = e, e, e, e, true
	}
	y := l.unit()*(e-2*l.r*l.c*l.e+l.r*l.r*l.e2) + 2*l.p*l.c*l.y - l.p*l.p*l.y2
	l.e, l.e2, l.y, l.y2 = e, l.e, y, l.y
	return l.pi.run(speed+y, speed, stick)
}

func (l *notch) response(omega, share float64) complex128 {
	z := shift(omega, l.h)
	c := func(x float64) complex128 { return complex(x, 0) }
	filter := c(l.unit()) * (z*z - c(2*l.r*l.c)*z + c(l.r*l.r)) / (z*z - c(2*l.p*l.c)*z + c(l.p*l.p))
	return filter * l.pi.response(omega, share)
}
