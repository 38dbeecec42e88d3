//go:build !race

package procedure

const healthySeeds = 200
