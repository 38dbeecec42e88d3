//go:build !race

package proceduretest

const Raced = false
