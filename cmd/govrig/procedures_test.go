package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// pointless is a procedure that is only there to have a command.
type pointless struct {
	execution.Plain
	often int
	name  string
	ran   bool
}

func (p *pointless) Flags() []execution.Flag {
	return []execution.Flag{{Name: "often", Usage: "how often", Value: &p.often}, {Name: "name", Usage: "whose", Value: &p.name}}
}

func (*pointless) Measures(*machine.Machine) ([]measure.Declaration, error) { return nil, nil }

func (p *pointless) Run(context.Context, *execution.Bench) (*execution.Run, error) {
	p.ran = true
	return &execution.Run{Result: measure.NewSheet("pointless", true).Result()}, nil
}

// A procedure's value makes its command, with its flags and its help.
func TestAddedProcedureHasACommand(t *testing.T) {
	p := &pointless{often: 3}
	var out, complaints bytes.Buffer
	c := newProcedureCommand(streams{strings.NewReader(""), &out, &complaints}, &execution.Procedure{
		Name: "pointless", Short: "Do nothing", Long: "It does nothing.", Examples: []string{"pointless x.yaml"},
		New: func() execution.Options { return p },
	})
	require.Equal(t, "pointless MACHINE", c.Use)
	require.Contains(t, c.Example, "govrig pointless x.yaml")
	require.Equal(t, "3", c.Flags().Lookup("often").DefValue)
	c.SetArgs([]string{root + "/testdata/machines/medium-15cc.yaml", "--virtual", "--often", "5", "--name", "x", "--records", ""})
	_ = c.Execute() // a result without a measure is no pass
	require.True(t, p.ran)
	require.Equal(t, 5, p.often)
	require.Equal(t, "x", p.name)
}
