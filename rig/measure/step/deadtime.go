package step

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// DeadTime is a first-order-plus-dead-time description K·e^{−Ls}/(Ts + 1) of
// the answer to a step.
type DeadTime struct {
	Gain     float64 // K, change of level per unit of step
	Lag      float64 // T, s
	Delay    float64 // L, s
	Residual float64 // root mean square misfit, share of the change of level
}

// Fits holds the same answer described by three published methods. They agree
// on a true first-order-plus-dead-time answer and differ on any other.
type Fits struct {
	// TwoPoint passes through 28.35 % and 63.21 % (Smith; Sundaresan &
	// Krishnaswamy): T = 1.5·(t63 − t28), L = t63 − T.
	TwoPoint DeadTime
	// Tangent follows the steepest slope (Ziegler & Nichols).
	Tangent DeadTime
	// Area keeps ∫(1 − y)dt = L + T and the area under the answer up to then,
	// T/e (Åström & Hägglund).
	Area DeadTime
}

// FitDeadTime describes the answer to a step of the given size. The error says
// why the log does not allow it.
func FitDeadTime(s measure.Series, w Windows, size float64) (Fits, error) {
	a, err := cut(s, w)
	if err != nil {
		return Fits{}, fmt.Errorf("step: %w", err)
	}
	if err := a.changed(); err != nil {
		return Fits{}, fmt.Errorf("step: %w", err)
	}
	change := a.final.value - a.initial.value
	if why, _ := a.final.settled(0.05 * math.Abs(change)); why != "" {
		return Fits{}, fmt.Errorf("step: %s", why)
	}
	if size == 0 {
		return Fits{}, fmt.Errorf("step: a step of size 0 has no gain")
	}
	u := a.unit(change)
	f := Fits{TwoPoint: u.twoPoint(), Tangent: u.tangent(), Area: u.area()}
	for _, d := range []*DeadTime{&f.TwoPoint, &f.Tangent, &f.Area} {
		d.Gain = change / size
		d.Residual = u.misfit(*d)
	}
	return f, nil
}

// unit is the answer from 0 to 1 over the time since the event.
type unit measure.Series

func (a *answer) unit(change float64) unit {
	u := unit{T: make([]float64, a.after.Len()), Y: make([]float64, a.after.Len())}
	for i := range u.T {
		u.T[i] = math.Max(0, a.after.T[i]-a.event)
		u.Y[i] = (a.after.Y[i] - a.initial.value) / change
	}
	return u
}

// reaches is the first moment at a level, interpolated.
func (u unit) reaches(level float64) float64 {
	for i := 1; i < len(u.T); i++ {
		if u.Y[i] >= level {
			return crossing(measure.Series(u), i-1, level)
		}
	}
	return math.NaN()
}

func (u unit) twoPoint() DeadTime {
	t28, t63 := u.reaches(-math.Expm1(-1.0/3)), u.reaches(-math.Expm1(-1))
	t := 1.5 * (t63 - t28)
	return DeadTime{Lag: t, Delay: t63 - t}
}

// tangent takes the slope as a straight line through a stretch of a twentieth
// of the rise, so that the noise of single samples does not make it.
func (u unit) tangent() DeadTime {
	width := math.Max(u.reaches(0.9)-u.reaches(0.1), u.T[len(u.T)-1]/float64(len(u.T))*20) / 20
	var d DeadTime
	steepest := 0.0
	j := 0
	var n, st, sy, stt, sty float64
	add := func(i int, sign float64) {
		n += sign
		st += sign * u.T[i]
		sy += sign * u.Y[i]
		stt += sign * u.T[i] * u.T[i]
		sty += sign * u.T[i] * u.Y[i]
	}
	for i := range u.T {
		add(i, 1)
		for u.T[i]-u.T[j] > width {
			add(j, -1)
			j++
		}
		det := n*stt - st*st
		if n < 3 || det <= 0 {
			continue
		}
		if slope := (n*sty - st*sy) / det; slope > steepest {
			steepest = slope
			d = DeadTime{Lag: 1 / slope, Delay: (st - sy/slope) / n}
		}
	}
	return d
}

func (u unit) area() DeadTime {
	whole := u.integral(math.Inf(1), func(y float64) float64 { return 1 - y })
	t := math.E * u.integral(whole, func(y float64) float64 { return y })
	return DeadTime{Lag: t, Delay: whole - t}
}

// integral is the trapezoidal integral of f(y) up to a time.
func (u unit) integral(to float64, f func(y float64) float64) float64 {
	sum := 0.0
	for i := 1; i < len(u.T) && u.T[i-1] < to; i++ {
		dt := math.Min(u.T[i], to) - u.T[i-1]
		part := 0.0
		if u.T[i] > u.T[i-1] {
			part = dt / (u.T[i] - u.T[i-1])
		}
		end := u.Y[i-1] + part*(u.Y[i]-u.Y[i-1])
		sum += dt * (f(u.Y[i-1]) + f(end)) / 2
	}
	return sum
}

func (u unit) misfit(d DeadTime) float64 {
	sum := 0.0
	for i, t := range u.T {
		e := u.Y[i] + math.Expm1(-math.Max(0, t-d.Delay)/d.Lag)
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(u.T)))
}
