// Package pickup predicts what a magnetic speed pickup gives: the field of a
// magnet passing a Hall switch, and the pulses that follow from it.
package pickup
