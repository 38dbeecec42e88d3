package faults

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution/governed"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
)

// A governor without a select input has no select line that could fail.
func TestNoSelectLineNoFaultsOfIt(t *testing.T) {
	for kind, want := range map[machine.SelectKind]int{machine.SelectContinuous: 4, machine.SelectSteps: 4, machine.SelectNone: 0} {
		m := proceduretest.Medium(t)
		m.Governor.Select = kind
		n, all := 0, faults(governed.New(m, m.Speeds[0]), protocol.BaudFast)
		for _, x := range all {
			if strings.Contains(x.what, "select") {
				n++
			}
		}
		require.Equal(t, want, n)
		require.Len(t, all, 15+want)
	}
}
