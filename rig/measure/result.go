package measure

// Schema names the layout of a Result in JSON.
const Schema = "govrig/result/1"

// Outcome is what became of a measure or of a whole procedure.
type Outcome string

const (
	// Pass: taken, and the limit, if there is one, was met.
	Pass Outcome = "pass"
	// Fail: taken, and the governor missed the limit.
	Fail Outcome = "fail"
	// NotRun: declared, and never taken.
	NotRun Outcome = "not_run"
	// Error: the rig, the data or the person went wrong; says nothing of the
	// governor.
	Error Outcome = "error"
)

// Measure is one declared number with what became of it.
type Measure struct {
	Name       string   `json:"name"`
	Key        Key      `json:"key,omitzero"`
	About      string   `json:"about,omitempty"` // what the moment of the key is, in words
	Rig        bool     `json:"rig,omitempty"`   // of the rig itself
	Value      *float64 `json:"value"`           // null unless taken
	Unit       string   `json:"unit"`
	Limit      *Limit   `json:"limit,omitempty"`
	Outcome    Outcome  `json:"outcome"`
	Meaning    string   `json:"meaning,omitempty"`
	Convention string   `json:"convention,omitempty"`
	// Uncertainty and AtLeast are those of the Reading.
	Uncertainty float64  `json:"uncertainty,omitempty"`
	AtLeast     bool     `json:"at_least,omitempty"`
	Warnings    []string `json:"warnings"` // never null
}

// Result is the stable document of one procedure.
type Result struct {
	Schema    string    `json:"schema"`
	Procedure string    `json:"procedure"`
	Virtual   bool      `json:"virtual"` // no hardware was there
	Outcome   Outcome   `json:"outcome"`
	Measures  []Measure `json:"measures"` // never null
	Warnings  []string  `json:"warnings"` // never null
}

// Find gives the measure of that name, or nil.
func (r *Result) Find(name string) *Measure {
	for i := range r.Measures {
		if r.Measures[i].Name == name {
			return &r.Measures[i]
		}
	}
	return nil
}
