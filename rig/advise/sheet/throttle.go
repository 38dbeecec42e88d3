package sheet

import (
	"fmt"
	"math"

	"govrig/sim/linkage"
)

// Throttle is the linkage as it is built and as it would be with the square
// rod.
type Throttle struct {
	RodMM float64 `json:"rod_mm"`
	// SquareRodMM stands both arms square to the line between the pivots at
	// mid travel.
	SquareRodMM float64 `json:"square_rod_mm"`
	AsBuilt     *Course `json:"as_built"`
	// Square has the square rod, the servo arm square at mid travel, and the
	// barrel clamped to stand fully open at the open end. It is null when the
	// arms then do not reach over the whole travel.
	Square *Course `json:"with_square_rod"`
	// Suggestion is another servo arm and travel that evens the slope out;
	// empty when the slope is even enough or nothing near helps.
	Suggestion string `json:"suggestion"`
}

// Course is how the throttle moves over the servo's travel.
type Course struct {
	MidServoDeg    float64 `json:"mid_servo_arm_deg"`
	MidCarbDeg     float64 `json:"mid_carburettor_arm_deg"`
	OpenThrowDeg   float64 `json:"throw_to_open_deg"`
	ClosedThrowDeg float64 `json:"throw_to_closed_deg"`
	// AsymmetryPercent is the difference of the two over their mean.
	AsymmetryPercent float64 `json:"asymmetry_percent"`
	// SlopeMin and SlopeMax bound how many degrees the carburettor arm turns
	// for one of the servo arm; SlopeSpreadPercent is half their difference
	// over their mean.
	SlopeMin           float64 `json:"slope_min_deg_per_deg"`
	SlopeMax           float64 `json:"slope_max_deg_per_deg"`
	SlopeSpreadPercent float64 `json:"slope_spread_percent"`
	// WorstAngleDeg is the smallest angle between rod and carburettor arm.
	WorstAngleDeg float64 `json:"worst_rod_to_arm_deg"`
	// Steepest and Flattest are where the open area grows fastest and slowest
	// for the servo's movement, from -80 to 80 % of travel. Their ratio is how
	// much the linkage and barrel change the loop gain.
	Steepest Growth `json:"steepest"`
	Flattest Growth `json:"flattest"`
	Points   []Spot `json:"points"`
}

// Growth is how fast the open area grows at a place of the travel.
type Growth struct {
	TravelPercent float64 `json:"travel_percent"`
	// PerTravel is percent of full area per percent of the half travel.
	PerTravel float64 `json:"area_percent_per_travel_percent"`
}

// Spot is where everything stands at one servo travel.
type Spot struct {
	// TravelPercent runs from -100, the closed end, to 100, the open end.
	TravelPercent float64 `json:"travel_percent"`
	ServoDeg      float64 `json:"servo_arm_deg"`
	CarbDeg       float64 `json:"carburettor_arm_deg"`
	// BarrelDeg is how far the barrel stands short of fully open; negative is
	// past it.
	BarrelDeg float64 `json:"barrel_from_open_deg"`
	AreaPct   float64 `json:"open_area_percent"`
}

// spots is the number of points of a course: every 2.5 % of the half travel.
const spots = 81

func newThrottle(p linkage.Params) (Throttle, error) {
	built, err := newCourse(p)
	if err != nil {
		return Throttle{}, err
	}
	square, _ := squareCourse(p) // where it fails there is none
	t := Throttle{
		RodMM:       1000 * p.Rod,
		SquareRodMM: 1000 * p.SquareRod(),
		AsBuilt:     built,
		Square:      square,
	}
	t.Suggestion = suggestion(p, t.target())
	return t, nil
}

// target is the course to aim at: the square rod where that evens the slope
// out, or else what is built.
func (t Throttle) target() *Course {
	off := math.Abs(t.SquareRodMM - t.RodMM)
	if off > fairRodMM && t.Square != nil && t.Square.SlopeSpreadPercent <= t.AsBuilt.SlopeSpreadPercent {
		return t.Square
	}
	return t.AsBuilt
}

// suggestion tries other servo arms, each with the travel that turns the
// barrel about as far, and arms on the same side.
func suggestion(p linkage.Params, now *Course) string {
	if now.SlopeSpreadPercent <= fairSlope {
		return ""
	}
	words, best := "", 0.8*now.SlopeSpreadPercent
	try := func(q linkage.Params, how string) {
		c, err := squareCourse(q)
		if err != nil || math.Abs(c.throw()/now.throw()-1) > 0.1 || c.SlopeSpreadPercent >= best {
			return
		}
		best = c.SlopeSpreadPercent
		words = fmt.Sprintf("%s, with a rod of %.1f mm, brings it to ±%.0f %%", how, 1000*q.SquareRod(), best)
	}
	for _, longer := range []float64{0.7, 0.8, 0.9, 1.1, 1.25, 1.4, 1.6, 1.8} {
		q := p
		q.ServoArm *= longer
		q.Travel /= longer
		try(q, fmt.Sprintf("a servo arm of %.1f mm turning ±%.0f°", 1000*q.ServoArm, deg(math.Abs(q.Travel))))
	}
	if p.Crossed {
		p.Crossed, p.Travel = false, -p.Travel
		try(p, "both arms on the same side of the line between the pivots and the servo reversed")
	}
	return words
}

// throw is how far the carburettor arm turns in all, in degrees.
func (c *Course) throw() float64 { return c.OpenThrowDeg + c.ClosedThrowDeg }

// squareCourse sets the linkage up as it should be with the same arms.
func squareCourse(p linkage.Params) (*Course, error) {
	p.Rod = p.SquareRod()
	p.ServoMid = math.Copysign(math.Pi/2, p.ServoMid)
	l, err := linkage.New(p)
	if err != nil {
		return nil, err
	}
	open, err := l.At(1)
	if err != nil {
		return nil, err
	}
	p.CarbOpen = open.Carb
	return newCourse(p)
}

func newCourse(p linkage.Params) (*Course, error) {
	l, err := linkage.New(p)
	if err != nil {
		return nil, err
	}
	open, closed := l.Throws()
	c := &Course{
		OpenThrowDeg:     deg(open),
		ClosedThrowDeg:   deg(closed),
		AsymmetryPercent: 100 * l.Asymmetry(),
		SlopeMin:         math.Inf(1),
		WorstAngleDeg:    90,
		Flattest:         Growth{PerTravel: math.Inf(1)},
		Steepest:         Growth{PerTravel: math.Inf(-1)},
	}
	for i := range spots {
		if err := c.add(l, -1+2*float64(i)/(spots-1)); err != nil {
			return nil, err
		}
	}
	c.SlopeSpreadPercent = 100 * (c.SlopeMax - c.SlopeMin) / (c.SlopeMax + c.SlopeMin)
	mid := c.Points[spots/2]
	c.MidServoDeg, c.MidCarbDeg = mid.ServoDeg, mid.CarbDeg
	return c, nil
}

// add takes in the pose at travel u.
func (c *Course) add(l *linkage.Linkage, u float64) error {
	pose, err := l.At(u)
	if err != nil {
		return err
	}
	share, growth, err := l.Opening(u)
	if err != nil {
		return err
	}
	toOpen := math.Copysign(1, pose.Slope*l.Params().Travel)
	percent := 100 * u
	c.Points = append(c.Points, Spot{
		TravelPercent: percent,
		ServoDeg:      deg(pose.Servo),
		CarbDeg:       deg(pose.Carb),
		BarrelDeg:     deg(toOpen * (l.Params().CarbOpen - pose.Carb)),
		AreaPct:       100 * share,
	})
	c.SlopeMin = math.Min(c.SlopeMin, math.Abs(pose.Slope))
	c.SlopeMax = math.Max(c.SlopeMax, math.Abs(pose.Slope))
	c.WorstAngleDeg = math.Min(c.WorstAngleDeg, deg(pose.Transmission))
	if math.Abs(percent) > 80 {
		return nil
	}
	if growth > c.Steepest.PerTravel {
		c.Steepest = Growth{percent, growth}
	}
	if growth < c.Flattest.PerTravel {
		c.Flattest = Growth{percent, growth}
	}
	return nil
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }
