//go:build !race

package badlink_test

const seeds = 120
