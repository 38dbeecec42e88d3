// Package loop is the linear theory of the speed loop: stability margins, what
// a load step will do, and what change of gain reaches a wanted margin.
//
// A loop is a complex function of ω (rad/s) without the minus sign of the
// summing point: the loop is stable while L keeps clear of −1.
package loop
