// Package linkage is the way from the servo's arm to the carburettor's open
// area: a planar four-bar linkage and a rotary barrel.
//
// # Four-bar linkage
//
// With a the servo arm, b the rod, c the carburettor arm, d the distance
// between the pivots, θ2 the servo arm's angle and θ4 the carburettor arm's,
// both from the line between the pivots, the loop closes when (Freudenstein
// 1954; Norton, Design of Machinery, ch. 4)
//
//	K1·cos θ4 − K2·cos θ2 + K3 = cos(θ2 − θ4)
//	K1 = d/a, K2 = d/c, K3 = (a² − b² + c² + d²)/(2ac)
//
// This is linear in cos θ4 and sin θ4, so
//
//	θ4 = δ ± acos((K2·cos θ2 − K3)/R)
//	R = |(K1 − cos θ2, −sin θ2)|, δ its direction
//
// with + for the open and − for the crossed branch. There is no half-angle, so
// nothing is singular at θ4 = π, and one sign is one branch: the output is
// continuous wherever the arms reach. Where the argument leaves ±1 the rod is
// too long or too short (ReachError); where it is ±1 the rod and the
// carburettor arm stand in line (ToggleError).
//
// The slope is, with θ3 the rod's angle,
//
//	dθ4/dθ2 = a·sin(θ2 − θ3) / (c·sin(θ4 − θ3))
//
// # Rotary barrel
//
// Bore and cross hole are taken as circles, seen along the bisector of their
// axes. Turned by φ from fully open, a barrel of diameter D has its hole's
// centre D·sin(φ/2) from the bore's, and the open window is the lens common to
// the two circles. Equal bores so close at φ = 2·asin(bore/D), which is exact;
// between the ends the circles stand for ellipses foreshortened by cos(φ/2).
//
// Air passes two such windows in series, into the barrel and out of it. Two
// orifices in series act as one of 1/(CdA)² = 1/(CdA)₁² + 1/(CdA)₂², here
// CdA/√2. The discharge coefficient is taken as the same at every opening, so
// the share of the full flow area is the share of the lens.
//
// Valid for a servo arm shorter than the distance between the pivots. Play in
// the balls and the rod's bending are not in here.
package linkage
