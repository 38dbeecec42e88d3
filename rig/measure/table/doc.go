// Package table measures a log that somebody else wrote: a table with a column
// of time and one of speed, and perhaps throttle and load. It reads row by row
// and holds no more than the stretches around one event, so that a log may be
// of any length.
package table
