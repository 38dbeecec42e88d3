//go:build race

package proceduretest

// Raced is set under the race detector, which is ten times slower. The long
// tests then do less; the checks run them in full without it.
const Raced = true
