package runlog

// Provenance is the line that says what took part in a run, as every page,
// print, and file gives it; an empty subject is a governor.
func Provenance(virtual bool, subject string) string {
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
