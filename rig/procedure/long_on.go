//go:build long

package procedure

// long is set by the build tag of that name: everything runs on the emulated
// board that may.
const long = true
