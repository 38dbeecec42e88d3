package heli

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Linear is the plant for small changes about a trim in hover, clutch locked,
// without what has no linear gain: the servo's rate, dead band, resolution and
// backlash. With ω the engine speed, v the inflow, c the charge, q the open
// share of the throttle curve, θ the collective and D the engine's delay:
//
//	J·dω/dt = T_c·c(t−D) + T_ω·ω + T_v·v + T_θ·θ
//	dv/dt   = v_ω·ω + v_v·v + v_θ·θ
//	τ·dc/dt = c_ω·ω + c_q·q − c
//
// The torque is the engine's less the rotor's over n·η, and J the engine's
// inertia and the head's over n²·η. The derivatives are central differences of
// the functions that the plant itself steps. The mixture has none: its loss
// grows with the square of its error.
type Linear struct {
	// HeadSpeed and EngineSpeed in rad/s, Collective in rad.
	HeadSpeed, EngineSpeed, Collective float64
	// ThrottlePulse in s and Opening, 0 to 1, are those of the trim.
	ThrottlePulse, Opening float64
	// ThrottleSlope is the change of Opening per second of pulse width, 1/s.
	ThrottleSlope float64
	// PulseGain is the steady change of engine speed per second of pulse
	// width, rad/s².
	PulseGain float64
	// LoadGain is the steady change of engine speed per rad of collective,
	// 1/s: negative, more pitch slows it.
	LoadGain float64
	// Poles in 1/s, the slowest first, with Delay neglected where the speed
	// acts back on the charge (it is short beside them all). There are three,
	// or two when the charge has no lag.
	Poles []complex128
	// Delay is one delay of crank angle at the trim's speed, s.
	Delay float64
	// Latency is the servo's, s.
	Latency float64

	inertia float64
	lag     float64
	share   float64    // q per s of pulse
	torque  [4]float64 // by c, ω, v, θ
	inflow  [3]float64 // by ω, v, θ
	charge  [2]float64 // by q, ω
}

// Linearise gives the linear plant about the trim of a head speed, rad/s, and
// a collective, rad. Errors are those of Trim.
func (pl *Plant) Linearise(headSpeed, collective float64) (Linear, error) {
	t, err := pl.trim(headSpeed, collective)
	if err != nil {
		return Linear{}, err
	}
	servo := pl.params.Servo
	share := pl.throttle.slope(t.share) / (servo.PulseHigh - servo.PulseLow)
	l := Linear{
		HeadSpeed: t.head, EngineSpeed: t.engine, Collective: t.pitch,
		ThrottlePulse: servo.Pulse(t.share),
		Opening:       pl.engine.Area(t.opening),
		ThrottleSlope: share * (1 - pl.engine.IdleStop()),
		Delay:         pl.params.Engine.Delay / t.engine,
		Latency:       servo.Latency,
		lag:           pl.params.Engine.ChargeLag,
		share:         share,
	}
	pl.differentiate(&l, t)
	l.PulseGain = real(l.Response(0))
	l.LoadGain = real(l.LoadResponse(0))
	if l.Poles = l.poles(); l.Poles == nil {
		return Linear{}, fmt.Errorf("no eigenvalues for the plant at %g rad/s", headSpeed)
	}
	return l, nil
}

// differentiate fills the coefficients.
func (pl *Plant) differentiate(l *Linear, t trim) {
	train := pl.drive.Train()
	n, eta := train.Ratio, train.Efficiency
	l.inertia = pl.drive.EngineInertia() + pl.drive.HeadInertia()/(n*n*eta)
	torque := func(c, engine, inflow, pitch float64) float64 {
		return pl.engine.Torque(c, engine) - pl.rotor.Torque(engine/n, pitch, 0, inflow)/(n*eta)
	}
	c := pl.engine.Charge(t.opening, t.engine)
	l.torque = [4]float64{
		slope(c, 1e-4, func(x float64) float64 { return torque(x, t.engine, t.inflow, t.pitch) }),
		slope(t.engine, 0.1, func(x float64) float64 { return torque(c, x, t.inflow, t.pitch) }),
		slope(t.inflow, 1e-3, func(x float64) float64 { return torque(c, t.engine, x, t.pitch) }),
		slope(t.pitch, 1e-4, func(x float64) float64 { return torque(c, t.engine, t.inflow, x) }),
	}
	rate := pl.rotor.InflowRate
	l.inflow = [3]float64{
		slope(t.engine, 0.1, func(x float64) float64 { return rate(x/n, t.pitch, 0, t.inflow) }),
		slope(t.inflow, 1e-3, func(x float64) float64 { return rate(t.head, t.pitch, 0, x) }),
		slope(t.pitch, 1e-4, func(x float64) float64 { return rate(t.head, x, 0, t.inflow) }),
	}
	l.charge = [2]float64{
		slope(t.opening, 1e-4, func(x float64) float64 { return pl.engine.Charge(x, t.engine) }),
		slope(t.engine, 0.1, func(x float64) float64 { return pl.engine.Charge(t.opening, x) }),
	}
}

// slope is the central difference of f at x over h to either side.
func slope(x, h float64, f func(float64) float64) float64 { return (f(x+h) - f(x-h)) / (2 * h) }

// Response is the complex gain from throttle pulse, s, to engine speed, rad/s,
// at the complex frequency s, 1/s (iω for a sine): the whole way, with servo
// latency and engine delay.
func (l *Linear) Response(s complex128) complex128 {
	q := complex(l.share, 0) * cmplx.Exp(-s*complex(l.Latency, 0))
	return l.burn(s) * complex(l.charge[0], 0) * q / l.restoring(s)
}

// LoadResponse is the complex gain from collective, rad, to engine speed,
// rad/s, with the throttle held.
func (l *Linear) LoadResponse(s complex128) complex128 {
	return (complex(l.torque[3], 0) + l.wake(s)*complex(l.inflow[2], 0)) / l.restoring(s)
}

// burn is the way from steady charge to torque.
func (l *Linear) burn(s complex128) complex128 {
	return complex(l.torque[0], 0) * cmplx.Exp(-s*complex(l.Delay, 0)) / (1 + s*complex(l.lag, 0))
}

// wake is the way from the inflow's push to torque.
func (l *Linear) wake(s complex128) complex128 {
	return complex(l.torque[2], 0) / (s - complex(l.inflow[1], 0))
}

// restoring is torque per engine speed that a torque from outside must
// overcome.
func (l *Linear) restoring(s complex128) complex128 {
	return s*complex(l.inertia, 0) - complex(l.torque[1], 0) -
		l.burn(s)*complex(l.charge[1], 0) - l.wake(s)*complex(l.inflow[0], 0)
}

// poles are the eigenvalues of the state matrix of ω, v and c; nil if they
// cannot be found.
func (l *Linear) poles() []complex128 {
	j, q := l.inertia, l.torque
	a := mat.NewDense(2, 2, []float64{
		(q[1] + q[0]*l.charge[1]) / j, q[2] / j,
		l.inflow[0], l.inflow[1],
	})
	if l.lag > 0 {
		a = mat.NewDense(3, 3, []float64{
			q[1] / j, q[2] / j, q[0] / j,
			l.inflow[0], l.inflow[1], 0,
			l.charge[1] / l.lag, 0, -1 / l.lag,
		})
	}
	var e mat.Eigen
	if !e.Factorize(a, mat.EigenNone) {
		return nil
	}
	values := e.Values(nil)
	slices.SortFunc(values, func(x, y complex128) int {
		if d := cmplx.Abs(x) - cmplx.Abs(y); math.Abs(d) > 1e-9*cmplx.Abs(x) {
			return int(math.Copysign(1, d))
		}
		return int(math.Copysign(1, imag(y)-imag(x)))
	})
	return values
}
