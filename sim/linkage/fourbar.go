package linkage

import (
	"fmt"
	"math"
)

// toggleSine is the sine of the angle between rod and carburettor arm below
// which they count as standing in line. At 1e-6 the slope is a million.
const toggleSine = 1e-6

// ReachError says that the rod cannot close the loop at a servo angle.
type ReachError struct {
	ServoAngle float64 // rad
	// TooShort tells that a longer rod would reach; otherwise it is too long.
	TooShort bool
}

func (e *ReachError) Error() string {
	rod := "long"
	if e.TooShort {
		rod = "short"
	}
	return fmt.Sprintf("the rod is too %s with the servo arm at %.1f°", rod, degrees(e.ServoAngle))
}

// ToggleError says that rod and carburettor arm stand in line at a servo
// angle: the arm may snap to either side.
type ToggleError struct {
	ServoAngle float64 // rad
}

func (e *ToggleError) Error() string {
	return fmt.Sprintf("rod and carburettor arm stand in line with the servo arm at %.1f°", degrees(e.ServoAngle))
}

// Pose is where the linkage stands. Angles are radians from the line between
// the pivots.
type Pose struct {
	Servo float64 // θ2, the servo arm
	Rod   float64 // θ3, the rod, from servo to carburettor
	Carb  float64 // θ4, the carburettor arm
	// Slope is dθ4/dθ2.
	Slope float64
	// Transmission is the angle between rod and carburettor arm, 0 to π/2:
	// π/2 passes on all of the rod's force, 0 none.
	Transmission float64
}

// Linkage is a geometry that closes over the whole of its servo travel.
type Linkage struct {
	p          Params
	k1, k2, k3 float64
	branch     float64 // +1 open, -1 crossed
}

// New makes a linkage and checks that it closes over the whole travel. Errors
// are those of Params.Validate, *ReachError and *ToggleError.
func New(p Params) (*Linkage, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	l := newUnchecked(p)
	for _, servo := range l.extremes() {
		if _, err := l.Pose(servo); err != nil {
			return nil, err
		}
	}
	return l, nil
}

func newUnchecked(p Params) *Linkage {
	a, b, c, d := p.ServoArm, p.Rod, p.CarbArm, p.Pivots
	l := &Linkage{
		p:      p,
		k1:     d / a,
		k2:     d / c,
		k3:     (a*a - b*b + c*c + d*d) / (2 * a * c),
		branch: 1,
	}
	if p.Crossed {
		l.branch = -1
	}
	return l
}

// extremes are the servo angles at which the distance between the servo's ball
// and the carburettor's pivot, √(a² + d² − 2ad·cos θ2), is largest or smallest
// over the travel. If the rod reaches there, it reaches everywhere between.
func (l *Linkage) extremes() []float64 {
	lo, hi := l.servo(-1), l.servo(1)
	if lo > hi {
		lo, hi = hi, lo
	}
	all := []float64{lo, hi}
	for _, turn := range []float64{-math.Pi, 0, math.Pi} {
		if turn > lo && turn < hi {
			all = append(all, turn)
		}
	}
	return all
}

// servo is the servo arm's angle at travel u, -1 closed to +1 open.
func (l *Linkage) servo(u float64) float64 { return l.p.ServoMid + u*l.p.Travel }

// Params are those that the linkage was made from.
func (l *Linkage) Params() Params { return l.p }

// At is the pose at servo travel u, from -1 (closed end) to +1 (open end).
// Within that range there is no error.
func (l *Linkage) At(u float64) (Pose, error) { return l.Pose(l.servo(u)) }

// Pose is where the linkage stands with the servo arm at an angle, rad. The
// errors are *ReachError and *ToggleError.
func (l *Linkage) Pose(servo float64) (Pose, error) {
	sin, cos := math.Sincos(servo)
	x, y := l.k1-cos, -sin
	ratio := (l.k2*cos - l.k3) / math.Hypot(x, y)
	if math.Abs(ratio) > 1 {
		return Pose{}, &ReachError{ServoAngle: servo, TooShort: ratio < 0}
	}
	return l.pose(servo, math.Atan2(y, x)+l.branch*math.Acos(ratio))
}

func (l *Linkage) pose(servo, carb float64) (Pose, error) {
	a, c := l.p.ServoArm, l.p.CarbArm
	rod := math.Atan2(
		c*math.Sin(carb)-a*math.Sin(servo),
		l.p.Pivots+c*math.Cos(carb)-a*math.Cos(servo),
	)
	lever := math.Sin(carb - rod)
	if math.Abs(lever) < toggleSine {
		return Pose{}, &ToggleError{ServoAngle: servo}
	}
	return Pose{
		Servo:        servo,
		Rod:          rod,
		Carb:         carb,
		Slope:        a * math.Sin(servo-rod) / (c * lever),
		Transmission: math.Asin(math.Abs(lever)),
	}, nil
}

// SquareRod is the rod, in m, that stands both arms square to the line between
// the pivots at once: √(d² + (c − a)²), or with crossed arms √(d² + (c + a)²).
// At that point the slope is exactly a/c.
func (p Params) SquareRod() float64 {
	if p.Crossed {
		return math.Hypot(p.Pivots, p.CarbArm+p.ServoArm)
	}
	return math.Hypot(p.Pivots, p.CarbArm-p.ServoArm)
}

// Throws is how far the carburettor arm turns, in rad, from mid travel to the
// open end and from mid travel to the closed end. Both are magnitudes.
func (l *Linkage) Throws() (open, closed float64) {
	ends := [3]float64{}
	for i, u := range []float64{-1, 0, 1} {
		pose, _ := l.At(u) // New has checked the whole travel
		ends[i] = pose.Carb
	}
	return math.Abs(ends[2] - ends[1]), math.Abs(ends[1] - ends[0])
}

// Asymmetry is how much further the arm turns toward open than toward closed,
// as a share of the mean throw: 0 is even, +0.1 is 5 % more and 5 % less.
func (l *Linkage) Asymmetry() float64 {
	open, closed := l.Throws()
	return 2 * (open - closed) / (open + closed)
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
