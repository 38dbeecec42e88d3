package gallery

// droop is proportional only, u = u₀ + K·e: each share of throttle has a speed
// of its own, and the speed falls by 1/K for the whole travel.
type droop struct{ k, rest float64 }

func (*droop) start(float64, float64) {}

func (l *droop) run(set, speed, _ float64) float64 { return l.rest + l.k*(set-speed) }

func (l *droop) scale(f float64) { l.k *= f }

func (l *droop) response(float64, float64) complex128 { return complex(l.k, 0) }

func (l *droop) terms(float64) (float64, float64, float64) { return l.k, 0, 0 }
