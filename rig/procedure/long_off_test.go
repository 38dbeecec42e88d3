//go:build !long

package procedure

const long = false
