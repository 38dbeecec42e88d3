package gallery

import (
	"math"

	"govrig/sim"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// run is a machine and a governor joined without wire or board: an edge at the
// moment at which a magnet passes, a throttle pulse for the plant from its end.
type run struct {
	*lead
	m          *machine.Machine
	plant      *heli.Plant
	collective float64
	pulse      float64 // that the plant sees, s
	ends       int64
	coming     float64
	// lost plays no pickup pulses; doubled plays one half-way between two.
	lost, doubled bool
	drop          int       // pulses still to leave out
	speeds        []float64 // of the engine, one a step, rad/s
}

const dt = 250e-6

func newRun(m *machine.Machine, member Member) *run {
	r := &run{lead: newLead(member, WiringOf(m, tickRate)), m: m, plant: heli.New(m.HeliParams(), dt)}
	r.collective, r.pulse = float64(m.LoadStep.CollectiveLow), r.w.Closed
	r.coming = r.pulse
	return r
}

// at asks for a head speed by the select line.
func (r *run) at(s machine.SpeedSetting) {
	share := (float64(s.HeadSpeed)*r.m.Ratio() - r.w.SpeedLow) / (r.w.SpeedHigh - r.w.SpeedLow)
	r.sel = r.w.SelectLow + share*(r.w.SelectHigh-r.w.SelectLow)
}

func (r *run) fly(seconds float64) {
	const step = int64(dt * tickRate)
	spacing := 2 * math.Pi / float64(r.w.PulsesPerTurn)
	for range int(math.Round(seconds / dt)) {
		r.servos(r.tick)
		if r.ends <= r.tick {
			r.pulse = r.coming
		}
		before := r.plant.State()
		r.plant.Step(sim.Input{ThrottlePulse: r.pulse, Collective: r.collective})
		after := r.plant.State()
		for n := math.Floor(before.CrankAngle/spacing) + 1; n*spacing <= after.CrankAngle; n++ {
			r.magnet(r.tick+int64(sim.Crossing(&before, &after, n*spacing, dt)*float64(step)), spacing/after.EngineSpeed)
		}
		r.tick += step
		sent := len(r.widths)
		r.pass(r.tick)
		if n := len(r.widths); n > sent && r.widths[n-1] > 0 {
			r.coming, r.ends = float64(r.widths[n-1])/tickRate, r.rises[n-1]+r.widths[n-1]
		}
		r.speeds = append(r.speeds, after.EngineSpeed)
	}
}

func (r *run) magnet(tick int64, period float64) {
	if r.drop > 0 {
		r.drop--
		return
	}
	if r.lost {
		return
	}
	width := int64(math.Min(500e-6, 0.3*period) * tickRate)
	for _, at := range []int64{tick, tick + int64(period/2*tickRate)} {
		r.add(governor.Pickup, at, !r.w.PickupLow)
		r.add(governor.Pickup, at+width, r.w.PickupLow)
		if !r.doubled {
			break
		}
	}
}

// settle goes from idle up to the first setting and lets it settle.
func (r *run) settle(seconds float64) {
	r.at(r.m.Speeds[0])
	r.stick = 0
	r.fly(1)
	r.stick = 0.6
	r.fly(seconds)
}

// over is mean, lowest and highest of the newest seconds.
func (r *run) over(seconds float64) (mean, low, high float64) {
	part := r.speeds[len(r.speeds)-int(seconds/dt):]
	low, high = math.Inf(1), 0
	for _, x := range part {
		mean += x / float64(len(part))
		low, high = min(low, x), max(high, x)
	}
	return mean, low, high
}
