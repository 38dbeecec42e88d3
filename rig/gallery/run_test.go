// Package gallery holds the gallery of governors (sim/standin/gallery) against
// every procedure. It has tests only.
package gallery

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/gallery"
)

// procedures are those that say something of a governor, in order.
var procedures = func() (of procedure.List) {
	for _, p := range procedure.All {
		if p.Wires == execution.Governor {
			of = append(of, p)
		}
	}
	return of
}()

func medium(t testing.TB) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	return m
}

// virtual runs a procedure on the virtual board with a governor of its own.
func virtual(t testing.TB, p *execution.Procedure, m *machine.Machine, member gallery.Member) *execution.Run {
	g := member.New(gallery.WiringOf(m, board.TickHz), 0)
	return run(t, p, m, g, board.New(board.Options{Governor: g}))
}

// run runs a procedure as a commission does, at every setting that it can do.
func run(t testing.TB, p *execution.Procedure, m *machine.Machine, g *gallery.Governor, on io.ReadWriteCloser) *execution.Run {
	o := p.New()
	if at, ok := o.(execution.AtSetting); ok && p.PerSetting {
		at.SetSpeed(execution.AllSpeeds)
	}
	r, err := o.Run(context.Background(), &execution.Bench{Machine: m, Board: on, Where: "gallery", StandIn: g})
	require.NoError(t, err, p.Name)
	return r
}
