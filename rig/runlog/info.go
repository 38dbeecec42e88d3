package runlog

import (
	"encoding/json"

	"govrig/protocol"
	"govrig/rig/measure"
)

// Schema is the version of the record's form; records of form 1 are read too.
const (
	Schema    = "govrig/run/2"
	schemaOne = "govrig/run/1"
)

// Names of the files of a record.
const (
	infoFile    = "run.json"
	machineFile = "machine.yaml"
	scriptFile  = "script.jsonl"
	samplesFile = "samples.bin"
	wireFile    = "wire.bin"
	resultFile  = "result.json"
	sumsFile    = "sums.json"
	endFile     = "end.json"
	spareFile   = "spare" // space set aside, for a full disk
)

// Info is what is known when a run begins.
type Info struct {
	Schema    string          `json:"schema"`
	Started   string          `json:"started"` // RFC 3339, by the host's clock
	Tool      string          `json:"tool"`    // version of govrig
	System    string          `json:"system"`  // operating system and processor
	Procedure string          `json:"procedure"`
	Subject   string          `json:"subject,omitempty"` // what was tested; empty is the governor
	Options   json.RawMessage `json:"options,omitempty"` // of the procedure
	Speed     string          `json:"speed,omitempty"`   // name of the speed setting
	Virtual   bool            `json:"virtual"`           // no hardware took part
	Board     string          `json:"board"`             // virtual, emulated, or the port
	// Baud is the speed of the wire; 0, in older records, is 500000. Slowed says
	// why it is lower than the full speed, when it is.
	Baud   int    `json:"baud,omitempty"`
	Slowed string `json:"slowed,omitempty"`
	// Lockstep: the board waits for the host; wall time means nothing.
	Lockstep  bool               `json:"lockstep"`
	Identity  protocol.Identity  `json:"identity"`
	Settings  protocol.Configure `json:"settings"` // the board's, at the start
	StepTicks int64              `json:"step_ticks"`
	TickHz    uint32             `json:"tick_hz"`
	// Machine is the machine's name and MachineSum the SHA-256 of its file, in
	// hexadecimal.
	Machine    string `json:"machine"`
	MachineSum string `json:"machine_sha256"`
	// Read are the values of the machine file that the procedure read, by path, as
	// a file writes them; nil in older records.
	Read map[string]string `json:"read,omitempty"`
	// Cautions are the remarks that the machine file gave rise to.
	Cautions []string `json:"cautions,omitempty"`
	// StandIn holds the parameters of the simulated governor, when one took
	// part.
	StandIn any `json:"stand_in,omitempty"`

	// MachineText is the machine file, as it was.
	MachineText string `json:"-"`
}

// Reasons for which a run ends.
const (
	Complete = "complete" // the procedure came to its end
	Stopped  = "stopped"  // by the person
	Error    = "error"    // the rig or the link failed
	CutOff   = "cut off"  // no end was written: the program was killed, or is still running
)

// End is what is known when a run ends.
type End struct {
	Reason string `json:"reason"`
	// Error says more when Reason is Error.
	Error string `json:"error,omitempty"`
	// Outcome is the result's.
	Outcome measure.Outcome `json:"outcome,omitempty"`
	// Found and Next are what was found, and what to do next, in sentences.
	Found []string `json:"found,omitempty"`
	Next  []string `json:"next,omitempty"`
	// Loops and Gains are the curves of a sweep and of a tuning, for a drawing.
	Loops []Loop         `json:"loops,omitempty"`
	Gains []GainPosition `json:"gains,omitempty"`
	// Views are the stretches that are worth a picture.
	Views []View `json:"views,omitempty"`
	// Ticks is how far the run came, and Samples how many were taken.
	Ticks   int64 `json:"ticks"`
	Samples int64 `json:"samples"`
	// Clock is the board's clock error, when it could be estimated.
	Clock *ClockError `json:"clock_error,omitempty"`
	// Short says why the record ends before the run did, when it does.
	Short string `json:"record_short,omitempty"`

	// Result is the result document, when there is one.
	Result *measure.Result `json:"-"`
}

// ClockError is how fast the board's clock ran against the host's.
type ClockError struct {
	Fast        float64 `json:"fast"`        // share: 0.005 counts half a per cent too much
	Uncertainty float64 `json:"uncertainty"` // share
}
