// Package drive joins the engine to the rotor: a centrifugal clutch, a gear
// train and a one-way bearing.
//
// # Equations
//
// With ω_e and ω_r the engine's and the main shaft's speed, n the ratio of the
// train, η its efficiency and T the torque through the clutch:
//
//	J_e·dω_e/dt = T_e − T
//	J_r·dω_r/dt = η·n·T − Q,   J_r = rotor + wheels + n²·bell
//
// T is not a function of the speeds but obeys the law of dry friction behind a
// one-way bearing, with the slip s = ω_e − n·ω_r:
//
//	s > 0:  T = C(ω_e)         the shoes slip at their capacity
//	s < 0:  T = 0              the rotor overruns
//	s = 0:  0 ≤ T ≤ C(ω_e)     they turn as one
//	C(ω) = k(ω² − ω₀²) ≥ 0     shoes held back by springs up to ω₀
//
// (C: any text on machine elements, e.g. Shigley, centrifugal clutches, from
// memory.) A step finds the T that ends it without slip and cuts it to the
// range allowed, after Moreau's time stepping for dry friction (1988, from
// memory): sticking is exact, with no band of slip to make it smooth and no
// stiffness to make it unstable. The kinetic energy that one step adds or
// takes is exactly torque times mean speed times the step.
//
// # Range of validity
//
// Rigid shafts, no backlash in the gears; efficiency independent of load. While
// the rotor overruns, the wheels are taken to turn with it.
package drive

// Drive is a drive line with its two speeds. It is a plain value.
type Drive struct {
	// Engine and Head are the speeds of the crank and of the main shaft,
	// rad/s, not negative.
	Engine, Head float64

	train      Train
	perEngine  float64 // 1/J_e
	perHead    float64 // 1/J_r
	grip       float64 // k, N·m·s²
	engagement float64 // ω₀²
	compliance float64 // slip speed lost per N·m·s of T
}

// New makes a drive line at rest between an engine and a rotor of the given
// inertias, kg·m², each about its own shaft. The parameters must be valid.
func New(p Params, engine, rotor float64) Drive {
	t := NewTrain(p.Stages)
	c := p.Clutch
	square := c.EngagementSpeed * c.EngagementSpeed
	head := rotor + t.Inertia + t.AtOutput(c.BellInertia)
	return Drive{
		train:      t,
		perEngine:  1 / engine,
		perHead:    1 / head,
		grip:       c.Capacity / (c.CapacitySpeed*c.CapacitySpeed - square),
		engagement: square,
		compliance: 1/engine + t.Efficiency*t.Ratio*t.Ratio/head,
	}
}

// Train is the gear train.
func (d *Drive) Train() Train { return d.train }

// EngineInertia is J_e, kg·m².
func (d *Drive) EngineInertia() float64 { return 1 / d.perEngine }

// HeadInertia is J_r: what turns with the main shaft when the clutch slips,
// kg·m² about it.
func (d *Drive) HeadInertia() float64 { return 1 / d.perHead }

// Capacity is the torque that the clutch carries at an engine speed, N·m.
func (d *Drive) Capacity(speed float64) float64 {
	return d.grip * max(0, speed*speed-d.engagement)
}

// Slip is ω_e − n·ω_r, rad/s: positive while the shoes slip, zero when the
// shafts turn as one, negative while the rotor overruns.
func (d *Drive) Slip() float64 { return d.Engine - d.train.Ratio*d.Head }

// Step moves both shafts over dt seconds under the engine's torque and the
// load on the main shaft, N·m, and gives the torque through the clutch, N·m.
// Neither shaft turns backwards.
func (d *Drive) Step(torque, load, dt float64) float64 {
	n := d.train.Ratio
	engine := d.Engine + dt*torque*d.perEngine
	head := d.Head - dt*load*d.perHead
	through := (engine - n*head) / (dt * d.compliance)
	most := d.Capacity(d.Engine)
	locked := through >= 0 && through <= most
	through = min(max(through, 0), most)

	d.Engine = max(0, engine-dt*through*d.perEngine)
	d.Head = max(0, head+dt*through*d.train.Efficiency*n*d.perHead)
	if locked {
		d.Engine = n * d.Head
	}
	return through
}
