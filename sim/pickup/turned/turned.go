// Package turned turns a shaft with magnets past a sensor and gives the edges of
// the sensor's line in time.
package turned

import (
	"math"
	"slices"
	"sort"

	"govrig/sim/pickup"
)

// Sensor is a sensor past which a shaft with magnets is turned.
type Sensor struct {
	// Pulses are where the sensor is on, rad of shaft; they come again every
	// Period rad.
	Pulses []pickup.Pulse
	Period float64
	// Stuck is a sensor that is on all the time.
	Stuck bool
	// Low has the line low while the sensor is on.
	Low bool
	// HighVolts and LowVolts are the line's levels at the board's pin, behind the
	// probe's divider of a half; both 0 are UsualHigh and UsualLow.
	HighVolts, LowVolts float64
	// Slowest is the speed, rad/s, below which the sensor gives no pulses, as a
	// coil does.
	Slowest float64
	// Speeds is how fast the shaft is turned, from rest; after the last stretch
	// it keeps its speed.
	Speeds []Stretch

	edges []edge // in the order of their angles, within a Period
	given int    // edges looked at
	mute  bool   // the pulse under way is not given

	at     int // stretch
	angle  float64
	time   float64 // s, and speed, rad/s, at its start
	before float64
}

// Levels at the board's pin, V, of a sensor on its own: 5 V through pull-up and
// divider, and an open collector that pulls the line down (firmware-notes, "Hall
// sensor with open collector").
const (
	UsualHigh = 2.2
	UsualLow  = 0.1
)

// Volts is the line's level at the board's pin.
func (s *Sensor) Volts(high bool) float64 {
	switch usual := s.HighVolts == 0 && s.LowVolts == 0; {
	case usual && high:
		return UsualHigh
	case usual:
		return UsualLow
	case high:
		return s.HighVolts
	}
	return s.LowVolts
}

// Stretch is a stretch of time, s, over which the speed of a shaft goes in a
// straight line to Speed, rad/s.
type Stretch struct{ Time, Speed float64 }

// edge is the sensor switching at an angle of the shaft.
type edge struct {
	angle float64
	on    bool
}

// New gives what a typical sensor makes of the magnets when the shaft is turned
// at the given speeds. The error is that of p.Validate.
func New(p pickup.Params, low bool, speeds ...Stretch) (*Sensor, error) {
	is, err := pickup.Predict(p)
	if err != nil {
		return nil, err
	}
	s := &Sensor{Pulses: is.Pulses, Period: 2 * math.Pi, Stuck: is.Stuck, Low: low, Speeds: speeds}
	if is.PulsesPerRev > 0 {
		s.Period *= float64(len(is.Pulses)) / float64(is.PulsesPerRev)
	}
	return s, nil
}

// Idle is the level of the line before its first edge.
func (s *Sensor) Idle() (high bool) {
	on := s.Stuck
	for _, p := range s.Pulses {
		on = on || s.within(p.Release) < s.within(p.Operate)
	}
	return on != s.Low
}

// within brings an angle into the first period.
func (s *Sensor) within(angle float64) float64 {
	return angle - s.Period*math.Floor(angle/s.Period)
}

// Next gives the line's next edge and its time, s; ok is false when no other
// comes.
func (s *Sensor) Next() (time float64, high, ok bool) {
	if s.given == 0 {
		s.sort()
	}
	for len(s.edges) > 0 {
		next := s.edges[s.given%len(s.edges)]
		next.angle += float64(s.given/len(s.edges)) * s.Period
		s.given++
		time, speed, ok := s.reach(next.angle)
		if !ok {
			break
		}
		if next.on {
			s.mute = speed < s.Slowest
		}
		if !s.mute {
			return time, next.on != s.Low, true
		}
	}
	return 0, false, false
}

func (s *Sensor) sort() {
	for _, p := range s.Pulses {
		s.edges = append(s.edges, edge{s.within(p.Operate), true}, edge{s.within(p.Release), false})
	}
	sort.Slice(s.edges, func(i, k int) bool { return s.edges[i].angle < s.edges[k].angle })
	last := Stretch{Time: math.Inf(1)}
	if n := len(s.Speeds); n > 0 {
		last.Speed = s.Speeds[n-1].Speed
	}
	s.Speeds = append(slices.Clone(s.Speeds), last)
}

// reach gives the time, s, at which the shaft comes to an angle, which may not
// lie before the one asked for last, and its speed there; ok is false when it
// never does. A speed that grows by a each second covers θ = v·t + a·t²/2, of
// which t = 2θ/(v + √(v² + 2aθ)) is the root without cancellation.
func (s *Sensor) reach(angle float64) (time, speed float64, ok bool) {
	for {
		stretch, left := s.Speeds[s.at], angle-s.angle
		if math.IsInf(stretch.Time, 1) {
			return s.time + left/stretch.Speed, stretch.Speed, stretch.Speed > 0
		}
		turned := (s.before + stretch.Speed) / 2 * stretch.Time
		if left < turned {
			rate := (stretch.Speed - s.before) / stretch.Time
			speed = math.Sqrt(math.Max(0, s.before*s.before+2*rate*left))
			if left <= 0 {
				return s.time, speed, true
			}
			return s.time + 2*left/(s.before+speed), speed, true
		}
		s.angle, s.time, s.before, s.at = s.angle+turned, s.time+stretch.Time, stretch.Speed, s.at+1
	}
}

// ByHand is a shaft turned by hand through some whole turns, from one on, and
// let be: about a turn a second, begun and ended gently.
func ByHand(turns int) []Stretch {
	const speed = 2 * math.Pi // rad/s
	return []Stretch{{Time: 1, Speed: speed}, {Time: float64(turns - 1), Speed: speed}, {Time: 1, Speed: 0}}
}
