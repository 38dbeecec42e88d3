// Package predict tells, before anything is on the bench, how a governor's gain
// and integral time decide its answer to a load step: the step is simulated for
// every cell of a grid of both, on all cores.
//
// # The loop
//
// A cell is the simulated machine (package heli) and the stand-in governor
// (package governor), joined directly, without wire or board: the governor gets
// a pickup edge at the tick at which the magnet passes, the machine a throttle
// pulse from the first plant step after its end. That is what the rig does, less
// its wire. The cell starts at the trim, governed, a second before the load.
// Variation from cycle to cycle and misfire are left out, so that cells differ
// by their setting alone.
//
// # The measures
//
// They are those of the load-step procedure: transient deviation and recovery
// time after ISO 8528-5 (package step), in % of the wanted speed, into a band of
// 2 % full width. A cell hunts when over the last half of what is watched the
// speed keeps swinging through more than the speed band allowed.
//
// # The margins
//
// With ω the frequency, the loop that is linearised about a trim is
//
//	L(jω) = K·(1 + h/Ti·z⁻¹/(1 − z⁻¹)) · H(w) · H(h) · e^(−jω·(P/2 + u)) · U · G(jω)
//	z = e^(jωh),  H(x) = (1 − e^(−jωx))/(jωx)
//
// with K the gain, Ti the integral time, h the frame of the throttle pulses, u
// their width, P the time between pickup pulses, U the range of the throttle
// pulse, s, and G heli.Linear.Response. The first factor is the governor's PI
// law; H(w) the mean of the speed over w, the greater of h and P, which ends P/2
// before the frame on average; H(h) the hold until the next pulse (Åström and
// Wittenmark, Computer-Controlled Systems, from memory). Aliasing, the servo's
// rate, dead band, resolution and backlash are left out; the simulation has
// them. A cell's margins are the least of those at both ends of the load step.
//
// # The best cell
//
// Of the cells that meet the limits of the speed setting, with a gain margin of 2
// and a phase margin of 45° (common practice, no source), the best is the one
// that is back soonest; of equals, to 0.1 s, the one that dips least; and of
// equals, to 0.5 %, the one with the shortest integral time.
package predict
