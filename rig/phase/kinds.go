package phase

// Kinds of phases that more than one room knows. A procedure has others of its
// own.
const (
	Idle    Kind = "idle"
	SpoolUp Kind = "spool-up"
	// StickUp is the stick on its way up by steps, Change a small known change of
	// the played speed.
	StickUp  Kind = "stick up"
	Change   Kind = "change of speed"
	Settling Kind = "settle"
	// Try is a select width that is tried, Rest the wait until nothing drifts.
	Try     Kind = "try"
	Rest    Kind = "come to rest"
	Steady  Kind = "steady"
	LoadOn  Kind = "load on"
	LoadOff Kind = "load off"
	// LoadComes, Heavy and LightAgain are the heavy load of a steady state.
	LoadComes  Kind = "load comes on"
	Heavy      Kind = "heavy load"
	LightAgain Kind = "light again"
	// Climb is the first, Stop the last of the loads that imitate flight; Overload
	// is more load than the engine can hold.
	Climb    Kind = "climb"
	Overload Kind = "overload"
	Stop     Kind = "stop"
	// Fault is a fault itself, Before a calm stretch or the way to it, After what
	// follows.
	Fault  Kind = "fault:"
	Before Kind = "before"
	After  Kind = "after"
	// Notice is a moment under the orders that stand, for a change to be known ahead.
	Notice Kind = "notice"
	// Waiting is for the person.
	Waiting Kind = "waiting"
)

// Of is the key of a phase of a kind, whatever the setting.
func Of(kind Kind) Key { return Key{Kind: kind} }
