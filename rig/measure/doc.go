// Package measure is the vocabulary of every number the rig reports.
//
// A measure is declared first (name, unit, limit, what it means, by which
// convention) and taken afterwards. What was declared and never taken shows
// as not run; what was taken without having been declared is an error of the
// rig. A missed limit (fail) is never the same thing as a rig that went wrong
// (error).
//
// The sub-packages hold the mathematics: step for load and set-point steps,
// hunting for sustained oscillation and its causes, engage for whether a
// governor answers, response for frequency response, pulse for servo lines, loop
// for margins and gain advice, describing for describing functions, sinefit
// for sine fits, and table for logs from elsewhere. All are pure: data in,
// numbers out, no clock and no file.
package measure
