// Package model is the governor file: what is known of one governor, each value with
// its uncertainty and the run that it came from. The stand-in is made from it, be it
// one that was identified on the bench or the one that a machine file describes.
//
// What nobody knows is left out, and the stand-in then does what the machine file
// says.
package model

import "govrig/sim/unit"

// Format is the value of the key format.
const Format = "govrig/governor/1"

// Model is a governor file: what stands in it, in SI. A nil estimate is not known.
type Model struct {
	Format string `yaml:"format" one:"govrig/governor/1" about:"The kind of this file and its version."`
	Name   string `yaml:"name" example:"Governor of the club trainer" about:"What the governor is called."`
	Notes  string `yaml:"notes" default:"" example:"Gain knob at three o'clock." about:"Anything worth remembering."`
	// Machine is that of the runs, Bench what they ran on, Date when.
	Machine string `yaml:"measured_on" default:"" example:"Club trainer" about:"The machine that it was measured with."`
	Bench   string `yaml:"bench" default:"" one:"hardware,emulated,virtual" about:"What was on the bench. Of virtual and emulated it is no real governor."`
	Date    string `yaml:"measured" default:"" example:"2026-11-28" about:"Day of the newest run."`

	Law       Law       `yaml:"law" default:"" about:"The law from speed error to throttle."`
	Measuring Measuring `yaml:"speed_measurement" default:"" about:"How old the speed is that the law sees. Left out: it is the mean since the throttle pulse before."`
	Throttle  Throttle  `yaml:"throttle" default:"" about:"Its throttle line."`
	Arming    Arming    `yaml:"arming" default:"" about:"When it takes up governing, and how it goes to speed."`
	Setting   Setting   `yaml:"speed_setting" default:"" about:"Its select line, as it was set up on that machine; on another one that machine's file tells."`
	Faults    Faults    `yaml:"faults" default:"" about:"What it does when something fails."`
	Fit       Fit       `yaml:"fit" default:"" about:"How well the law describes what was measured."`

	// File is the name under which it was read; Text is all of it.
	File, Text string `yaml:"-"`
}

// Law is the section law.
type Law struct {
	Gain           *Gain  `yaml:"proportional_gain" default:"" low:"0 %/krpm" high:"5000 %/krpm" example:"30 %/krpm" about:"Share of throttle travel per 1000 rpm of speed error at the crankshaft; where it grows, with the throttle closed."`
	GainRise       *Share `yaml:"gain_rise" default:"" low:"-90 %" high:"1000 %" example:"40 %" about:"By what share of itself the gain has grown at full throttle."`
	IntegralTime   *Time  `yaml:"integral_time" default:"" low:"1 ms" high:"100 s" example:"0.8 s" about:"Integral time. Left out, it has no integral."`
	DerivativeTime *Time  `yaml:"derivative_time" default:"" low:"0.1 ms" high:"10 s" example:"60 ms" about:"Derivative time, of the measured speed. Left out, it has no derivative."`
	DerivativeLag  *Time  `yaml:"derivative_lag" default:"" low:"0.1 ms" high:"10 s" example:"15 ms" about:"Time constant of the derivative's filter."`
	FeedForward    *Share `yaml:"feed_forward" default:"" low:"0 %" high:"100 %" example:"60 %" about:"Share of throttle that a share of stick adds at once."`
	DeadBand       *Speed `yaml:"dead_band" default:"" low:"0 rpm" high:"4000 rpm" example:"130 rpm" about:"Speed error, either way, within which it does nothing."`
	WindUp         string `yaml:"wind_up" default:"" one:"no,yes" about:"Whether its integral runs on while the throttle is at an end."`
}

// Measuring is the section speed_measurement.
type Measuring struct {
	DeadTime *Time   `yaml:"dead_time" default:"" low:"0 ms" high:"500 ms" example:"9 ms" about:"Age of the speed that the law sees, without the wait for the end of the throttle pulse."`
	Turns    *Number `yaml:"turns" default:"" low:"0" high:"50" example:"1.5" about:"Turns of the crankshaft by which it is older still: half of the turns that it averages over, and half of one."`
	Lag      *Time   `yaml:"lag" default:"" low:"0 ms" high:"2000 ms" example:"15 ms" about:"Time constant of a first-order lag on the measured speed."`
}

// Throttle is the section throttle.
type Throttle struct {
	Closed    *Time      `yaml:"closed_pulse" default:"" low:"500 µs" high:"2500 µs" example:"1120 µs" about:"Pulse at closed throttle, with the stick ends of that machine."`
	Open      *Time      `yaml:"open_pulse" default:"" low:"500 µs" high:"2500 µs" example:"1880 µs" about:"Pulse at full throttle, with the stick ends of that machine."`
	FrameRate *Frequency `yaml:"frame_rate" default:"" low:"10 Hz" high:"400 Hz" example:"71 Hz" about:"Rate of its throttle pulses."`
	Step      *Time      `yaml:"output_step" default:"" low:"0 µs" high:"100 µs" example:"2 µs" about:"Step of its throttle pulse."`
}

// Arming is the section arming.
type Arming struct {
	On    *Share        `yaml:"arm_on" default:"" low:"0 %" high:"100 %" example:"30 %" about:"Stick travel at which governing is taken up."`
	Off   *Share        `yaml:"arm_off" default:"" low:"0 %" high:"100 %" example:"26 %" about:"Stick travel below which it is let go."`
	Speed *Speed        `yaml:"arm_speed" default:"" low:"0 rpm" high:"40000 rpm" example:"2500 rpm" about:"Crankshaft speed below which it is not taken up."`
	Spool *Acceleration `yaml:"spool_rate" default:"" low:"10 rpm/s" high:"100000 rpm/s" example:"2000 rpm/s" about:"How fast the wanted speed rises after arming."`
}

// Setting is the section speed_setting.
type Setting struct {
	Points []Point `yaml:"points" default:"" about:"Select pulses, and the crankshaft speeds that were held with them."`
	Step   *Speed  `yaml:"speed_step" default:"" low:"0 rpm" high:"4000 rpm" example:"50 rpm" about:"Step of the speed setting."`
}

// Point is an entry of the list points.
type Point struct {
	Pulse       unit.Time  `yaml:"pulse" low:"500 µs" high:"2500 µs" example:"1400 µs" about:"Pulse on the select line."`
	Speed       unit.Speed `yaml:"speed" low:"1000 rpm" high:"45000 rpm" example:"13000 rpm" about:"Crankshaft speed."`
	Uncertainty unit.Speed `yaml:"uncertainty" default:"" low:"0 rpm" high:"45000 rpm" example:"10 rpm" about:"Its standard uncertainty."`
	Run         string     `yaml:"run" default:"" example:"2026-11-28-180000-hold" about:"The run that it came from."`
}

// Faults is the section faults.
type Faults struct {
	LossTime  *Time      `yaml:"pickup_loss_time" default:"" low:"1 ms" high:"20 s" example:"250 ms" about:"Time without a pickup pulse after which it acts."`
	OnLoss    string     `yaml:"on_pickup_loss" default:"" one:"closes,holds,opens" about:"What it then does with the throttle: close it, leave it as it is, or open it."`
	Fall      *Time      `yaml:"closing_time" default:"" low:"0 s" high:"60 s" example:"4 s" about:"Time in which it then closes, from full throttle."`
	StickTime *Time      `yaml:"stick_loss_time" default:"" low:"1 ms" high:"20 s" example:"400 ms" about:"Time without a stick pulse after which it closes the throttle."`
	OnStick   string     `yaml:"on_stick_loss" default:"" one:"closes,goes_on" about:"What it does without stick pulses: close the throttle, or go on with the last."`
	Missing   *Number    `yaml:"missing_pulses" default:"" low:"0" high:"10000" example:"16" about:"Missing pulses in a row over which it rides."`
	Stray     *Number    `yaml:"stray_pulses" default:"" low:"0" high:"10000" example:"16" about:"Stray pulses over which it rides."`
	Reactions []Reaction `yaml:"reactions" default:"" about:"What it did in each fault that was tried."`
}

// Reaction is an entry of the list reactions.
type Reaction struct {
	Fault    string      `yaml:"fault" example:"pickup_lost" about:"The fault."`
	Time     *unit.Time  `yaml:"time_to_safe" default:"" low:"0 s" high:"100 s" example:"260 ms" about:"Time until throttle or speed was safe for good."`
	Highest  *unit.Share `yaml:"highest_speed" default:"" low:"0 %" high:"1000 %" example:"101 %" about:"Highest speed, of the wanted one."`
	Throttle *unit.Share `yaml:"throttle_at_end" default:"" low:"-20 %" high:"120 %" example:"0 %" about:"Throttle at the end of the watch."`
	Run      string      `yaml:"run" default:"" example:"2026-11-28-180000-faults" about:"The run that it came from."`
}

// Fit is the section fit.
type Fit struct {
	Residual unit.Share `yaml:"residual" default:"" low:"0 %" high:"1000 %" example:"0.8 %" about:"Root mean square of measured less described, of what was measured."`
	Worst    unit.Share `yaml:"worst" default:"" low:"0 %" high:"1000 %" example:"3 %" about:"The greatest at one line."`
	Lines    int        `yaml:"lines" default:"" low:"0" high:"100000" example:"78" about:"How many lines of the frequency response were described."`
	// LoadStep is empty where none was measured.
	LoadStep string `yaml:"load_step" default:"" one:"agrees,differs" about:"Whether the load step that the law predicts is the one that was measured."`
}
