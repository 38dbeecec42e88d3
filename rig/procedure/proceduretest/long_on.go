//go:build long

package proceduretest

// Long is set by the build tag of that name: everything runs on the emulated
// board that may.
const Long = true
