// Package step measures how a speed answers a sudden change: of load, or of
// the wanted speed.
//
// The words for load steps follow ISO 8528-5 and ISO 3046-4 (definitions from
// memory): every percentage divides by the declared speed; the steady-state
// band and the tolerance band are full widths, not plus and minus. The words
// for set-point steps follow IEEE 181 and the control text-books (from
// memory). Where published conventions differ, each has its own number.
//
// A number is read only when the data carries it. A response that never
// settles, a log that ends too soon, a gap across the transient, or an event
// without an answer gives a reading that says so.
package step
