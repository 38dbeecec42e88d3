package live

import (
	"context"
	"errors"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/show/report"
)

// State is what there is to know at a moment. Its slices only ever grow or are
// replaced, so that a copy of it stays as it is.
type State struct {
	// Walking is set while procedures are being done one after the other, and
	// between them.
	Walking bool `json:"walking"`
	// Step of Steps is where a walk has come to, from 1; 0 is no walk.
	Step       int     `json:"step"`
	Steps      int     `json:"steps"`
	Procedure  string  `json:"procedure"`
	Title      string  `json:"title"` // of the procedure
	Machine    string  `json:"machine"`
	Setting    string  `json:"setting"`
	Board      string  `json:"board"`
	Virtual    bool    `json:"virtual"`
	Provenance string  `json:"provenance"` // whether hardware takes part; empty while that is not known
	Phase      string  `json:"phase"`
	PhaseFrom  float64 `json:"phase_from_s"`
	// ThrottleRange are the throttle pulses at the closed and the open end, µs;
	// zeros where the machine is not known.
	ThrottleRange [2]float64 `json:"throttle_range_us"`
	Phases        []Phase    `json:"phases"` // that are over
	Said          []string   `json:"said"`
	Question      *Question  `json:"question"`
	Stopping      bool       `json:"stopping"`
	StoppedAt     float64    `json:"stopped_at_s"`
	End           *End       `json:"end"`
}

// Phase is a phase that is over, with its numbers.
type Phase struct {
	Name string  `json:"name"`
	From float64 `json:"from_s"`
	Time float64 `json:"time_s"`
	// Low, Mean and High are of the head speed, rpm; Closed and Open the least
	// and the greatest throttle pulse, µs.
	Low    float64 `json:"low_rpm"`
	Mean   float64 `json:"mean_rpm"`
	High   float64 `json:"high_rpm"`
	Closed float64 `json:"throttle_low_us"`
	Open   float64 `json:"throttle_high_us"`
}

// Question is one that waits for an answer.
type Question struct {
	Number  int      `json:"number"` // tells it from others
	Text    string   `json:"text"`
	Answers []string `json:"answers"` // none is any text
	Default string   `json:"default"`
	// Title and Brief are of the procedure that begins with the answer; null where
	// none does.
	Title string `json:"title"`
	Brief *Brief `json:"brief"`
}

// Brief is what a person has to know before a procedure begins.
type Brief struct {
	Purpose string   `json:"purpose"`
	Connect []string `json:"connect"`
	Moves   []string `json:"moves"`
	Hurts   []string `json:"hurts"`
}

// End is what came of a procedure.
type End struct {
	Word     string       `json:"word"`
	Class    string       `json:"class"` // pass, fail, notrun, error, stopped
	Error    string       `json:"error"`
	Rows     []report.Row `json:"rows"`
	Found    []string     `json:"found"`
	Warnings []string     `json:"warnings"`
	Next     []string     `json:"next"`
	Record   string       `json:"record"`
}

// ending puts the end into words.
func ending(r *execution.Run, err error) *End {
	end := &End{Word: "error", Class: "error", Rows: []report.Row{}, Found: []string{}, Warnings: []string{}, Next: []string{}}
	if r != nil {
		end.Rows, end.Record = report.Rows(r.Result), r.Dir
		end.Found = append(end.Found, r.Found...)
		end.Warnings = append(end.Warnings, r.Result.Warnings...)
		end.Next = append(end.Next, r.Next...)
		end.Word, end.Class = string(r.Result.Outcome), string(r.Result.Outcome)
		if r.Result.Outcome == measure.NotRun {
			end.Word, end.Class = "not all measured", "notrun"
		}
	}
	switch {
	case errors.Is(err, context.Canceled):
		end.Word, end.Class = "stopped", "stopped"
	case err != nil:
		end.Word, end.Class, end.Error = "error", "error", err.Error()
	}
	return end
}
