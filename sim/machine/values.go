package machine

import "govrig/sim/keyfile"

// Values are all values of the machine by path, "pickup.gap" or
// "speeds.hover.head_speed", as a file writes them: those that the file gives,
// and what is assumed for the others. Optional keys without a value are left out.
func (m *Machine) Values() map[string]string { return keyfile.Values(File.Keys, m) }
