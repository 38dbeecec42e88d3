package machine

import "govrig/sim/unit"

// Engine is the section engine. What is assumed for petrol in place of methanol
// are estimates of our own: more friction by piston rings, and a mixture that is
// steadied more slowly and forgives less.
type Engine struct {
	Fuel         Fuel          `yaml:"fuel" new:"set" default:"methanol" one:"methanol,petrol" about:"What it burns."`
	Displacement unit.Volume   `yaml:"displacement" low:"0.5 cm³" high:"200 cm³" example:"15 cm³" about:"Swept volume."`
	PeakPressure unit.Pressure `yaml:"mean_effective_pressure" new:"set" default:"500 kPa" petrol:"420 kPa" low:"50 kPa" high:"1500 kPa" about:"Brake mean effective pressure (torque × 2π / displacement) at the speed of most torque, full throttle, at sea level."`
	PeakSpeed    unit.Speed    `yaml:"peak_torque_speed" new:"set" default:"11500 rpm" petrol:"9500 rpm" low:"3000 rpm" high:"45000 rpm" about:"Crankshaft speed of most torque at full throttle."`
	TorqueSpan   unit.Speed    `yaml:"torque_span" default:"15000 rpm" low:"1000 rpm" high:"100000 rpm" about:"How far from that speed the torque at full throttle has fallen to nothing."`
	Inertia      unit.Inertia  `yaml:"inertia" low:"1 g·cm²" high:"0.04 kg·m²" example:"0.35 kg·cm²" about:"Moment of inertia of crankshaft, fan and clutch shoes. An estimate: mass × outer radius² / 2 for a disc."`
	IdleSpeed    unit.Speed    `yaml:"idle_speed" low:"500 rpm" high:"9000 rpm" example:"3200 rpm" about:"Crankshaft speed at idle, rotor standing."`
	StallSpeed   unit.Speed    `yaml:"stall_speed" default:"1500 rpm" low:"200 rpm" high:"4500 rpm" about:"Crankshaft speed below which the engine dies; below the idle speed."`
	Friction     unit.Pressure `yaml:"friction_pressure" default:"40 kPa" petrol:"45 kPa" low:"0 kPa" high:"200 kPa" about:"Friction mean effective pressure at very low speed."`
	FrictionPeak unit.Pressure `yaml:"friction_pressure_at_peak" default:"70 kPa" petrol:"75 kPa" low:"0 kPa" high:"300 kPa" about:"Friction mean effective pressure at the speed of most torque; not less than the one above."`
	Flow         unit.Share    `yaml:"flow_coefficient" default:"20 %" low:"5 %" high:"100 %" about:"Effective mean share of the carburettor's open area: discharge coefficient times the share of a turn in which the crankcase draws."`
	Delay        unit.Angle    `yaml:"torque_delay" default:"360°" low:"0°" high:"720°" about:"Crank angle from induction to torque; about one turn with crankcase scavenging."`
	ChargeLag    unit.Time     `yaml:"charge_lag" default:"10 ms" low:"0 ms" high:"500 ms" about:"Time constant with which the charge follows the throttle."`
	MixtureLag   unit.Time     `yaml:"mixture_lag" default:"60 ms" petrol:"90 ms" low:"0 ms" high:"2 s" about:"Time constant with which the fuel follows the air."`
	MixtureLoss  unit.Share    `yaml:"mixture_loss" default:"50 %" petrol:"80 %" low:"0 %" high:"100 %" about:"Loss of torque, as a share per square of the mixture's relative error."`
	Variation    unit.Share    `yaml:"cycle_variation" default:"3 %" petrol:"5 %" low:"0 %" high:"50 %" about:"Coefficient of variation of the torque from cycle to cycle."`
	Misfire      unit.Share    `yaml:"misfire" default:"0 %" low:"0 %" high:"50 %" about:"Share of cycles that do not burn."`
	Seed         int           `yaml:"seed" default:"1" low:"0" high:"1000000000" about:"Starts the sequence of variation and misfire; the same seed gives the same run."`
}

// Fuel is what an engine burns.
type Fuel string

// Fuels.
const (
	Methanol Fuel = "methanol"
	Petrol   Fuel = "petrol"
)

// Clutch is the section clutch.
type Clutch struct {
	Engagement  unit.Speed   `yaml:"engagement_speed" low:"1000 rpm" high:"25000 rpm" example:"6000 rpm" about:"Crankshaft speed at which the shoes touch the bell; above the idle speed."`
	Torque      unit.Torque  `yaml:"torque" low:"0.05 N·m" high:"100 N·m" example:"2.5 N·m" about:"Torque that the slipping clutch carries at torque_speed."`
	TorqueSpeed unit.Speed   `yaml:"torque_speed" low:"2000 rpm" high:"45000 rpm" example:"10000 rpm" about:"Crankshaft speed of that torque."`
	BellInertia unit.Inertia `yaml:"bell_inertia" default:"0.1 kg·cm²" low:"0 kg·cm²" high:"0.04 kg·m²" about:"Moment of inertia of the clutch bell with its pinion."`
}

// Stage is an entry of the list gears.
type Stage struct {
	// Driver and Driven are 0 when the ratio stands in their place, and Ratio,
	// turns of the driving wheel for one of the driven, is 0 when it is left out.
	Driver     int          `yaml:"driver" default:"" low:"5" high:"500" example:"9" about:"Teeth of the driving wheel, on the engine's side."`
	Driven     int          `yaml:"driven" default:"" low:"5" high:"500" example:"78" about:"Teeth of the driven wheel."`
	Ratio      float64      `yaml:"ratio" default:"" low:"0.05" high:"20" example:"8.6667" about:"In place of the teeth: turns of the driving wheel for one of the driven; four decimals count."`
	Kind       StageKind    `yaml:"kind" default:"gear" one:"gear,belt" about:"A pair of gears, or two toothed pulleys with a belt."`
	Efficiency unit.Share   `yaml:"efficiency" default:"96 %" low:"50 %" high:"100 %" about:"Power out over power in."`
	Inertia    unit.Inertia `yaml:"inertia" default:"0.2 g·m²" low:"0 g·m²" high:"1 kg·m²" about:"Moment of inertia of the driven wheel and what is fixed to its shaft, about that shaft."`
}

// StageKind is how a stage passes on its torque.
type StageKind string

// Kinds of stages.
const (
	Gear StageKind = "gear"
	Belt StageKind = "belt"
)

// Main is the section main_rotor.
type Main struct {
	Blades    int         `yaml:"blades" new:"set" default:"2" low:"2" high:"6" about:"Number of blades."`
	Radius    unit.Length `yaml:"radius" low:"0.15 m" high:"2 m" example:"0.69 m" about:"From the shaft to the blade tip."`
	Chord     unit.Length `yaml:"chord" low:"10 mm" high:"200 mm" example:"58 mm" about:"Width of a blade."`
	BladeMass unit.Mass   `yaml:"blade_mass" low:"5 g" high:"3 kg" example:"165 g" about:"Mass of one blade. Its moment of inertia is taken as that of a uniform rod from the shaft to the tip."`
	// GreatestHeadSpeed, rad/s, is the greatest that the blade maker allows. 0
	// is not given: then nothing is known of what the blades bear, and nothing
	// may be called safe for them. A wanted head speed is never above it.
	GreatestHeadSpeed unit.Speed   `yaml:"greatest_head_speed" default:"" low:"200 rpm" high:"4000 rpm" example:"1900 rpm" about:"Greatest head speed that the blade maker allows, from the blades or their leaflet. No guess: without it nothing can tell whether a speed is safe for the blades."`
	HubInertia        unit.Inertia `yaml:"hub_inertia" default:"1 g·m²" low:"0 g·m²" high:"1 kg·m²" about:"Moment of inertia of hub, grips and paddles about the main shaft."`
	LiftSlope         float64      `yaml:"lift_slope" default:"5.7" low:"3" high:"7" about:"Lift-curve slope of the blade section per radian."`
	DragZero          float64      `yaml:"drag_coefficient" default:"0.011" low:"0.004" high:"0.1" about:"Drag coefficient of the blade section at zero lift."`
	DragLift          float64      `yaml:"drag_growth" default:"0.02" low:"0" high:"0.2" about:"Growth of the drag coefficient with the square of the mean lift coefficient."`
	InducedFactor     float64      `yaml:"induced_factor" default:"1.15" low:"1" high:"2" about:"Actual over ideal induced power."`
	TipLoss           float64      `yaml:"tip_loss" default:"0.96" low:"0.8" high:"1" about:"Share of the radius that carries lift, B."`
	InflowMass        float64      `yaml:"inflow_mass" default:"1" low:"0.1" high:"4" about:"Apparent mass of the induced flow, as a multiple of the usual 8/3·ρR³."`
}

// Tail is the section tail_rotor.
type Tail struct {
	PowerShare unit.Share   `yaml:"power_share" new:"set" default:"10 %" low:"0 %" high:"30 %" about:"Power of the tail rotor as a share of the main rotor's."`
	Drive      TailDrive    `yaml:"drive" default:"shaft" one:"shaft,belt" about:"How the tail rotor is driven."`
	SpeedRatio float64      `yaml:"speed_ratio" default:"4.5" low:"1" high:"12" about:"Turns of the tail rotor for one of the head."`
	Inertia    unit.Inertia `yaml:"inertia" default:"0.05 g·m²" low:"0 g·m²" high:"0.1 kg·m²" about:"Moment of inertia of the tail rotor about its own shaft."`
}

// TailDrive is how the tail rotor is driven.
type TailDrive string

// Tail drives.
const (
	TailShaft TailDrive = "shaft"
	TailBelt  TailDrive = "belt"
)
