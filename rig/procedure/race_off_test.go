//go:build !race

package procedure

const raced = false
