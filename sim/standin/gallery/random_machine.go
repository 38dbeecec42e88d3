package gallery

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// drawing draws the numbers of a random machine.
type drawing struct{ *rand.Rand }

func draw(seed uint64) drawing { return drawing{rand.New(rand.NewPCG(seed, 0x6d616368))} }

func (d drawing) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// about is a value give or take a share.
func (d drawing) about(value, share float64) float64 { return value * d.between(1-share, 1+share) }

func oneOf[T any](d drawing, choices ...T) T { return choices[d.IntN(len(choices))] }

// linkages that a barrel opens with, from closed to open: pulses, arms.
var linkages = []string{`throttle_servo:
  closed_pulse: 1120 µs
  open_pulse: 1880 µs
  travel: 80°
  time_for_60_degrees: %.0f ms
throttle_linkage:
  servo_arm: 12 mm
  carburettor_arm: 12.5 mm
  pivot_distance: 64 mm
  rod_length: 62 mm
  opens: away
  carburettor_arm_open: 140°
`, `throttle_servo:
  closed_pulse: 1200 µs
  open_pulse: 1800 µs
  travel: 70°
  time_for_60_degrees: %.0f ms
throttle_linkage:
  servo_arm: 10 mm
  carburettor_arm: 10 mm
  pivot_distance: 41 mm
  opens: away
  carburettor_arm_open: 126°
`, `throttle_servo:
  closed_pulse: 1900 µs
  open_pulse: 1140 µs
  travel: 84°
  time_for_60_degrees: %.0f ms
throttle_linkage:
  servo_arm: 15 mm
  carburettor_arm: 16 mm
  pivot_distance: 88 mm
  rod_length: 92.3 mm
  arms: opposite_sides
  opens: toward
  carburettor_arm_open: -43°
`}

// machineText draws a machine file: a swept volume from 5 to 60 cm³, and all
// else in proportion, by the powers of it by which the files in testdata differ
// among themselves.
func machineText(d drawing, seed uint64) string {
	swept := 5 * math.Pow(12, d.Float64()) // cm³
	peak := d.about(25000*math.Pow(swept, -0.3), 0.05)
	if d.IntN(5) == 0 {
		peak *= 1.5 // one of the quick ones
	}
	radius := d.about(0.36*math.Pow(swept, 0.26), 0.05)
	size := radius / 0.69
	tip := d.between(98, 112)
	settings := 1 + d.IntN(3)
	head := tip / radius * 30 / math.Pi
	driver := 9 + d.IntN(6)
	driven := math.Round(float64(driver) * d.between(0.95, 1.15) * peak / head)
	slow := head * driven / float64(driver)
	fast := slow * (1 + 0.07*float64(settings-1))
	magnets := min(1+d.IntN(4), int(2000*60/(1.2*fast)))

	var b strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	put("format: govrig/machine/1\nname: Drawn by lot, %d\n", seed)
	put("engine:\n  displacement: %.2f cm³\n  mean_effective_pressure: %.0f kPa\n  peak_torque_speed: %.0f rpm\n", swept, d.between(340, 430), peak)
	put("  torque_span: %.0f rpm\n  inertia: %.0f g·cm²\n  idle_speed: %.0f rpm\n  stall_speed: %.0f rpm\n", 1.25*peak, d.about(360*math.Pow(swept/15, 1.67), 0.1), 0.25*slow, 0.12*slow)
	put("  charge_lag: %.1f ms\n  cycle_variation: %.1f %%\n  seed: %d\n", d.between(7, 14), d.between(1, 4), seed)
	put("clutch:\n  engagement_speed: %.0f rpm\n  torque: %.3f N·m\n  torque_speed: %.0f rpm\n  bell_inertia: %.1f g·cm²\n", 0.5*slow, 0.18*swept, 0.85*slow, 80*math.Pow(swept/15, 1.67))
	put("gears:\n  - driver: %d\n    driven: %.0f\n    efficiency: 96 %%\n    inertia: %.4f g·m²\n", driver, driven, 0.25*math.Pow(size, 5))
	put("main_rotor:\n  greatest_head_speed: %.0f rpm\n", 1.08*1.35*fast*float64(driver)/driven) // they bear what the governor can be set to
	put("  radius: %.3f m\n  chord: %.1f mm\n  blade_mass: %.0f g\n  hub_inertia: %.3f g·m²\n", radius, 57*size, d.about(162*math.Pow(size, 3), 0.15), 1.4*math.Pow(size, 5))
	put("tail_rotor:\n  power_share: %.1f %%\n  speed_ratio: 4.6\n  inertia: %.4f g·m²\n", d.between(8, 12), 0.06*math.Pow(size, 5))
	put("flying_mass: %.2f kg\n", 4.7*math.Pow(size, 3))
	put(linkages[d.IntN(len(linkages))], d.between(70, 140))
	bore := 2.75 * math.Pow(swept, 0.42)
	put("carburettor:\n  bore: %.1f mm\n  barrel_diameter: %.1f mm\n", bore, 1.7*bore)
	put("pickup:\n  magnets: %d\n  magnet:\n    diameter: 4 mm\n    length: 2 mm\n  radius: %.0f mm\n  gap: 1.4 mm\n  active: %s\n", magnets, d.between(28, 40), oneOf(d, "low", "high"))
	put("  sensor:\n    operate: 10 mT\n    operate_max: 12 mT\n    release: 7 mT\n    release_min: 4 mT\n")
	put("air:\n  altitude: %.0f m\n  temperature: %.0f °C\n  humidity: %.0f %%\n", d.between(0, 1200), d.between(0, 35), d.between(20, 90))
	from, to := 1100, 1900
	if d.IntN(4) == 0 {
		from, to = to, from
	}
	put("governor:\n  pulses_per_turn: %d\n  lowest_speed: %.0f rpm\n  highest_speed: %.0f rpm\n  select_at_lowest: %d µs\n  select_at_highest: %d µs\n", magnets, 0.75*slow, 1.35*fast, from, to)
	put("speeds:\n")
	for i := range settings {
		put("  setting_%d:\n    head_speed: %.0f rpm\n    limits:\n      max_speed_error: 1 %%\n", i+1, head*(1+0.07*float64(i)))
	}
	put("load_step:\n  collective_low: %.1f°\n  collective_high: %.1f°\n  ramp: %.0f ms\n", d.between(0.5, 1.5), d.between(4, 6.5), d.between(50, 100))
	return b.String()
}
