package unit

// Quantity is one of the types below.
type Quantity interface {
	// Dimension tells how the quantity is written.
	Dimension() *Dimension
}

// The quantities. Each holds its SI value.
type (
	// Length is a length in m.
	Length float64
	// Volume is a volume in m³.
	Volume float64
	// Mass is a mass in kg.
	Mass float64
	// Inertia is a moment of inertia in kg·m².
	Inertia float64
	// Torque is a torque in N·m.
	Torque float64
	// Pressure is a pressure in Pa.
	Pressure float64
	// Speed is a rotational speed in rad/s.
	Speed float64
	// Acceleration is a rotational acceleration in rad/s².
	Acceleration float64
	// Time is a time in s.
	Time float64
	// Frequency is a frequency in Hz.
	Frequency float64
	// Angle is an angle in rad.
	Angle float64
	// Share is a percentage, held as a share: 1 is 100 %.
	Share float64
	// Flux is a magnetic flux density in T.
	Flux float64
	// Temperature is an absolute temperature in K.
	Temperature float64
	// Gain is a share of throttle travel per speed error, in s/rad.
	Gain float64
)

// Dimension of a Length.
func (Length) Dimension() *Dimension { return length }

// Dimension of a Volume.
func (Volume) Dimension() *Dimension { return volume }

// Dimension of a Mass.
func (Mass) Dimension() *Dimension { return mass }

// Dimension of a Inertia.
func (Inertia) Dimension() *Dimension { return inertia }

// Dimension of a Torque.
func (Torque) Dimension() *Dimension { return torque }

// Dimension of a Pressure.
func (Pressure) Dimension() *Dimension { return pressure }

// Dimension of a Speed.
func (Speed) Dimension() *Dimension { return speed }

// Dimension of a Acceleration.
func (Acceleration) Dimension() *Dimension { return acceleration }

// Dimension of a Time.
func (Time) Dimension() *Dimension { return duration }

// Dimension of a Frequency.
func (Frequency) Dimension() *Dimension { return frequency }

// Dimension of a Angle.
func (Angle) Dimension() *Dimension { return angle }

// Dimension of a Share.
func (Share) Dimension() *Dimension { return share }

// Dimension of a Flux.
func (Flux) Dimension() *Dimension { return flux }

// Dimension of a Temperature.
func (Temperature) Dimension() *Dimension { return temperature }

// Dimension of a Gain.
func (Gain) Dimension() *Dimension { return gain }
