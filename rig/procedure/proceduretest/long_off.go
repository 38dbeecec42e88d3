//go:build !long

package proceduretest

const Long = false
