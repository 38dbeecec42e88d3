// Package pickup predicts what a magnetic speed pickup gives: the field of a
// magnet passing a planar Hall switch, and the pulses that follow from it.
//
// # Field
//
// A cylinder of radius R and length L, magnetised evenly along its axis with
// remanence Br, has on its axis, at z from the pole face,
//
//	B = Br/2 · [(L+z)/√(R²+(L+z)²) − z/√(R²+z²)]
//
// Off the axis its field is that of a thin solenoid (Derby & Olbert, American
// Journal of Physics 78 (2010) 229, from memory), with z from the centre,
// b = L/2, z± = z ± b, γ = (R−ρ)/(R+ρ) and Bulirsch's complete elliptic
// integral C(kc, p, c, s):
//
//	Bρ = Br/π · [α₊·C(k₊,1,1,−1) − α₋·C(k₋,1,1,−1)]
//	Bz = Br/π · R/(R+ρ) · [β₊·C(k₊,γ²,1,γ) − β₋·C(k₋,γ²,1,γ)]
//	α± = R/√(z±²+(ρ+R)²), β± = z±/√(z±²+(ρ+R)²)
//	k±² = (z±²+(R−ρ)²)/(z±²+(R+ρ)²)
//
// Far away it is a dipole of moment m = Br·V/μ0. Steel nearby, which may raise
// or bend the field, is not in here; nor is the fall of Br with temperature,
// about −0.1 % per kelvin for neodymium (common practice, no source).
//
// # Passing the sensor
//
// A planar Hall element feels only the field square to its face. With the
// magnet's axis along the gap it sees one main lobe with weak opposite lobes
// beside it; along the travel, one lobe of each sign; square to both, nothing
// in the mid-plane. A switch operates where the field rises past Bop and
// releases where it falls below Brp. Positive is a south pole at the branded
// face, as data sheets have it.
package pickup
