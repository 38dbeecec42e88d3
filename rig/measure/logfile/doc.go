// Package logfile reads a log that somebody else wrote, whatever its style: it
// finds the table in the text, the columns of time, speed, throttle and load in
// the table, and the units of both, and says what it took. A column that could
// be two things is not guessed: the error says how to name it.
//
// Dates follow ISO 8601 or are written day first with points; numbers follow
// RFC 4180 for their quotes. All else is common practice, no source.
package logfile

import "errors"

// ErrFormat is wrapped by every complaint about what a file holds.
var ErrFormat = errors.New("the log cannot be read")

// Row is one sample: s, rpm, µs, and load in the log's own unit. Throttle and
// Load are NaN where the log has none.
type Row struct{ Time, Speed, Throttle, Load float64 }

// Shaft is the shaft whose speed a log holds.
type Shaft string

// The shafts; Unknown where neither name nor machine file tells.
const (
	Engine  Shaft = "engine"
	Head    Shaft = "head"
	Unknown Shaft = ""
)

// Machine is what a machine file says of the speeds that a log can hold.
type Machine struct {
	Ratio  float64   // crankshaft turns for one turn of the head
	Pulses int       // pickup pulses a turn of the crankshaft
	Heads  []float64 // wanted head speeds, rpm
}

// Log is what was read.
type Log struct {
	Rows  []Row // times increase
	Shaft Shaft
	// Took says which columns were taken for what, Notes what else the person
	// should know about how the file was read.
	Took, Notes []string
}
