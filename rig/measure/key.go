package measure

// Key is what a measure is of: that, and not its name, is what programs go by.
type Key struct {
	// What is measured, such as transient_deviation.
	What string `json:"what"`
	// Setting is the speed setting, where it was taken at one.
	Setting string `json:"setting,omitempty"`
	// Load is the load under which it was taken, where that tells measures apart.
	Load Load `json:"load,omitempty"`
	// Moment is the event that it belongs to: a change of load, a fault.
	Moment string `json:"moment,omitempty"`
}

// Load is the light or the heavy end of a machine's load step.
type Load string

// The loads.
const (
	Light Load = "light"
	Heavy Load = "heavy"
)

// Changes of load, as moments.
const (
	LoadOn  = "load_on"
	LoadOff = "load_off"
)

// Get gives the measure of a key, or nil. Where a run had one setting only, its
// measures are also those of no setting.
func (r *Result) Get(k Key) *Measure {
	var found *Measure
	for i := range r.Measures {
		m := &r.Measures[i]
		if m.Key == k {
			return m
		}
		if of := m.Key; k.Setting == "" && found == nil {
			if of.Setting = ""; of == k {
				found = m
			}
		}
	}
	return found
}
