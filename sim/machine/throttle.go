package machine

import "govrig/sim/unit"

// Servo is the section throttle_servo.
type Servo struct {
	ClosedPulse unit.Time `yaml:"closed_pulse" low:"500 µs" high:"2500 µs" example:"1100 µs" about:"Pulse width at the closed end of the calibrated travel."`
	OpenPulse   unit.Time `yaml:"open_pulse" low:"500 µs" high:"2500 µs" example:"1900 µs" about:"Pulse width at the open end; may be the shorter of the two."`
	// Kind is empty and FrameRate nil when the file does not give them.
	Kind       ServoKind       `yaml:"kind" default:"" one:"analogue,digital" about:"How the servo works. An analogue one is made for about 50 pulses a second."`
	FrameRate  *unit.Frequency `yaml:"highest_frame_rate" default:"" low:"10 Hz" high:"1000 Hz" example:"333 Hz" about:"Most pulses a second that the servo's maker allows."`
	Travel     unit.Angle      `yaml:"travel" default:"90°" low:"10°" high:"179°" about:"How far the arm turns between these two pulses."`
	Time60     unit.Time       `yaml:"time_for_60_degrees" low:"15 ms" high:"1 s" example:"100 ms" about:"Time for 60° without load, as servo data sheets give it."`
	DeadBand   unit.Time       `yaml:"dead_band" default:"3 µs" low:"0 µs" high:"50 µs" about:"Full width of the band of pulse width in which the motor stays still."`
	Resolution unit.Time       `yaml:"resolution" default:"1 µs" low:"0 µs" high:"50 µs" about:"Smallest step of pulse width that the servo tells apart."`
	Latency    unit.Time       `yaml:"latency" default:"5 ms" low:"0 ms" high:"100 ms" about:"Time from the end of a pulse to the motor's answer."`
	Backlash   unit.Angle      `yaml:"backlash" default:"0.4°" low:"0°" high:"11°" about:"Full play of gears and linkage at the arm."`
}

// ServoKind is how a servo works.
type ServoKind string

// Kinds of servos.
const (
	Analogue ServoKind = "analogue"
	Digital  ServoKind = "digital"
)

const (
	// analogueFrames is what an analogue servo is made for, Hz (common practice,
	// no source).
	analogueFrames = 50
	// frameSlack is by how much a frame rate may be exceeded without a word,
	// for “50” is “about 50”.
	frameSlack = 1.1
)

// GreatestFrameRate is the most pulses a second, Hz, that the servo is made
// for: what its maker allows, or else what its kind is made for. 0 is not known.
func (s Servo) GreatestFrameRate() float64 {
	switch {
	case s.FrameRate != nil:
		return float64(*s.FrameRate)
	case s.Kind == Analogue:
		return analogueFrames
	}
	return 0
}

// Linkage is the section throttle_linkage.
type Linkage struct {
	ServoArm unit.Length `yaml:"servo_arm" low:"3 mm" high:"100 mm" example:"12 mm" about:"From the servo's shaft to the rod's ball."`
	CarbArm  unit.Length `yaml:"carburettor_arm" low:"3 mm" high:"100 mm" example:"13 mm" about:"From the barrel's pivot to the rod's ball."`
	Pivots   unit.Length `yaml:"pivot_distance" low:"10 mm" high:"500 mm" example:"62 mm" about:"From the servo's shaft to the barrel's pivot; more than the servo arm."`
	// Rod is nil in the file when the length that puts both arms square is
	// wanted; after Parse it is set.
	Rod      *unit.Length `yaml:"rod_length" default:"" low:"5 mm" high:"600 mm" example:"62 mm" about:"Length of the rod between ball centres. Left out: the length that puts both arms square at once."`
	Arms     Arms         `yaml:"arms" default:"same_side" one:"same_side,opposite_sides" about:"Whether both arms stand on one side of the line between the pivots, or the rod crosses it."`
	ServoMid unit.Angle   `yaml:"servo_arm_at_mid" default:"90°" low:"0°" high:"180°" about:"Angle of the servo arm at mid travel."`
	Opens    Opens        `yaml:"opens" default:"away" one:"away,toward" about:"Which way the servo arm turns to open: away from the carburettor, or toward it."`
	CarbOpen unit.Angle   `yaml:"carburettor_arm_open" low:"-180°" high:"180°" example:"131°" about:"Angle of the carburettor arm with the barrel fully open, on the same scale as the servo arm's. Negative is the other side of the line."`
}

// Arms is how the two arms stand to the line between the pivots.
type Arms string

// Where the arms stand.
const (
	SameSide      Arms = "same_side"
	OppositeSides Arms = "opposite_sides"
)

// Opens is the way in which the servo arm turns to open the throttle, seen
// from the carburettor.
type Opens string

// Directions of opening.
const (
	Away   Opens = "away"
	Toward Opens = "toward"
)

// Carburettor is the section carburettor.
type Carburettor struct {
	Bore   unit.Length `yaml:"bore" low:"1 mm" high:"35 mm" example:"8 mm" about:"Diameter of the air passage."`
	Hole   unit.Length `yaml:"barrel_hole" default:"=bore" low:"1 mm" high:"35 mm" about:"Diameter of the cross hole in the barrel."`
	Barrel unit.Length `yaml:"barrel_diameter" low:"1.5 mm" high:"70 mm" example:"13 mm" about:"Outer diameter of the barrel; more than bore and hole."`
}
