package main

import "runtime/debug"

// version is what the build stamped into the program, or "unknown".
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	text := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && (text == "" || text == "(devel)") {
			text = s.Value
		}
	}
	if text == "" {
		return "unknown"
	}
	return text
}
