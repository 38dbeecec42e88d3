package machine

import "govrig/sim/unit"

// Governor is the section governor: facts about the governor under test.
// Speeds are those of the crankshaft.
type Governor struct {
	PulsesPerTurn int             `yaml:"pulses_per_turn" new:"set" default:"1" low:"1" high:"12" about:"Pickup pulses per turn of the crankshaft that the governor is set to."`
	SpeedLow      unit.Speed      `yaml:"lowest_speed" low:"1000 rpm" high:"40000 rpm" example:"8000 rpm" about:"Lowest crankshaft speed that it can be set to."`
	SpeedHigh     unit.Speed      `yaml:"highest_speed" low:"1000 rpm" high:"45000 rpm" example:"22000 rpm" about:"Highest crankshaft speed that it can be set to."`
	SpeedStep     unit.Speed      `yaml:"speed_step" new:"set" default:"0 rpm" low:"0 rpm" high:"2000 rpm" about:"Step of the speed setting at the crankshaft; 0 rpm is none."`
	Select        SelectKind      `yaml:"select" default:"continuous" one:"none,steps,continuous" about:"What its select input does: there is none, and it is set by a knob or by hand; a pulse picks one of a few settings stored in it; or the speed follows the pulse."`
	SelectLow     unit.Time       `yaml:"select_at_lowest" default:"1100 µs" low:"500 µs" high:"2500 µs" about:"Pulse width on the select line that asks for the lowest speed."`
	SelectHigh    unit.Time       `yaml:"select_at_highest" default:"1900 µs" low:"500 µs" high:"2500 µs" about:"Pulse width on the select line that asks for the highest speed."`
	FrameRate     *unit.Frequency `yaml:"frame_rate" default:"" low:"10 Hz" high:"400 Hz" example:"71 Hz" about:"Rate of its throttle pulses, if its manual tells."`
}

// SelectKind is how a governor is asked for a speed.
type SelectKind string

// Ways to ask for a speed.
const (
	// SelectNone has no select line: a person sets the speed at the governor.
	SelectNone SelectKind = "none"
	// SelectSteps picks one of a few stored speeds by the pulse.
	SelectSteps SelectKind = "steps"
	// SelectContinuous lets the speed follow the pulse.
	SelectContinuous SelectKind = "continuous"
)

// SpeedSetting is an entry of the map speeds.
type SpeedSetting struct {
	Name      string     `yaml:"-"`
	HeadSpeed unit.Speed `yaml:"head_speed" low:"200 rpm" high:"4000 rpm" beyond:"is this the crankshaft's speed? Divide it by the gear ratio" example:"1650 rpm" about:"Wanted head speed."`
	// Select is nil when the file does not give it.
	Select *unit.Time `yaml:"select_pulse" default:"" low:"500 µs" high:"2500 µs" example:"1500 µs" about:"Pulse width on the select line that picks this speed, for a governor with select: steps. Left out: the speeds are spread evenly between select_at_lowest and select_at_highest."`
	Limits Limits     `yaml:"limits" about:"What the governor must meet at this speed; a limit left out is not checked. A yardstick: ISO 8528-5, class G2, for generator sets, has band 1.5 %, dip 10 %, overshoot 12 %, recovery 5 s (check your edition)."`
}

// Speeds are the wanted head speeds in the order of the file.
type Speeds []SpeedSetting

func (Speeds) ByName() {}

// Limits are the greatest values allowed; nil is not checked. Percentages are
// of the wanted head speed.
type Limits struct {
	SpeedError   *unit.Share `yaml:"max_speed_error" default:"" low:"0.01 %" high:"50 %" example:"1 %" about:"Mean head speed off the wanted one, at steady load."`
	Band         *unit.Share `yaml:"max_speed_band" new:"set" default:"" low:"0.01 %" high:"50 %" example:"1.5 %" about:"Steady-state speed band: full width of the swing at steady load."`
	Dip          *unit.Share `yaml:"max_dip" new:"set" default:"" low:"0.1 %" high:"100 %" example:"10 %" about:"Transient speed deviation downward when load comes on."`
	Overshoot    *unit.Share `yaml:"max_overshoot" new:"set" default:"" low:"0.1 %" high:"100 %" example:"12 %" about:"Transient speed deviation upward when load goes off."`
	RearmingTime *unit.Time  `yaml:"max_rearming_time" default:"" low:"10 ms" high:"60 s" example:"5 s" about:"Time until the speed is held again when the stick has been low while the rotor turned, as after an autorotation that is broken off."`
	RecoveryTime *unit.Time  `yaml:"max_recovery_time" new:"set" default:"" low:"10 ms" high:"60 s" example:"5 s" about:"Recovery time after load on and after load off."`
}

// LoadStep is the section load_step.
type LoadStep struct {
	CollectiveLow  unit.Angle `yaml:"collective_low" new:"set" default:"1°" low:"-5°" high:"15°" about:"Collective pitch before and after the load."`
	CollectiveHigh unit.Angle `yaml:"collective_high" new:"set" default:"6°" low:"-5°" high:"15°" about:"Collective pitch while the load is on; above the low one."`
	Ramp           unit.Time  `yaml:"ramp" default:"60 ms" low:"0 ms" high:"5 s" about:"Time in which the pitch moves from one to the other."`
	Hold           unit.Time  `yaml:"hold" default:"5 s" low:"1 s" high:"60 s" about:"Time for which each pitch is held."`
}

// StandIn is the section stand_in.
type StandIn struct {
	Gain         unit.Gain         `yaml:"proportional_gain" new:"set" default:"30 %/krpm" low:"0 %/krpm" high:"1000 %/krpm" about:"Share of throttle travel per 1000 rpm of speed error at the crankshaft."`
	IntegralTime unit.Time         `yaml:"integral_time" new:"set" default:"0.8 s" low:"0 s" high:"60 s" about:"Integral time of the PI controller; 0 s leaves the integral out."`
	ArmOn        unit.Share        `yaml:"arm_on" default:"30 %" low:"0 %" high:"100 %" about:"Stick travel at which it engages."`
	ArmOff       unit.Share        `yaml:"arm_off" default:"26 %" low:"0 %" high:"100 %" about:"Stick travel below which it disengages; not above arm_on."`
	ArmSpeed     unit.Speed        `yaml:"arm_speed" default:"2500 rpm" low:"0 rpm" high:"40000 rpm" about:"Crankshaft speed below which it does not engage."`
	SpoolRate    unit.Acceleration `yaml:"spool_rate" default:"2000 rpm/s" low:"10 rpm/s" high:"100000 rpm/s" about:"How fast the wanted crankshaft speed rises after arming."`
	FrameRate    unit.Frequency    `yaml:"frame_rate" default:"71 Hz" low:"10 Hz" high:"400 Hz" about:"Rate of its throttle pulses."`
	OutputStep   unit.Time         `yaml:"output_step" default:"2 µs" low:"0 µs" high:"50 µs" about:"Step of its throttle pulse width."`
	Quirk        Quirk             `yaml:"quirk" default:"none" one:"none,other_polarity,slow_frames,coarse_output,proportional_only,wind_up,no_hysteresis,loss_opens,believes_slow,deaf_when_fast,counts_twice,knob_reversed,coarse_setting" about:"Something wrong with it, to see how the rig finds it."`
	LossTime     unit.Time         `yaml:"pickup_loss_time" default:"250 ms" low:"10 ms" high:"10 s" about:"Time without a pickup pulse after which it shuts the throttle."`
}

// Quirk is the name of a governor.Quirk, or none.
type Quirk string
