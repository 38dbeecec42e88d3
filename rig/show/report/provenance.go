package report

import (
	"cmp"

	"govrig/rig/execution"
)

// subject is what a run tested.
func subject(r *execution.Run) string { return cmp.Or(r.Subject, "governor") }

// Provenance is the line that says what took part in a run of a governor.
func Provenance(virtual bool) string { return provenance(virtual, "") }

// provenance is the same for whatever was tested.
func provenance(virtual bool, subject string) string {
	switch {
	case virtual && subject != "":
		return "VIRTUAL: simulated " + subject + ", no hardware. This proves nothing about a real " + subject + "."
	case virtual:
		return "VIRTUAL: simulated governor and engine, no hardware. This proves nothing about a real governor."
	case subject != "":
		return "On the bench: real " + subject + ", no engine running."
	}
	return "On the bench: real governor, simulated engine."
}
