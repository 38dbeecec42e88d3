package byhand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
)

const rpm = math.Pi / 30

func TestOrders(t *testing.T) {
	m := proceduretest.Medium(t)
	idle := float64(m.Engine.IdleSpeed)
	tests := map[string]struct{ before, after Orders }{
		"stick 40 %":       {after: Orders{Stick: 0.4}},
		"stick 40":         {after: Orders{Stick: 0.4}},
		"Stick HIGH":       {after: Orders{Stick: 1}},
		"stick up 5 %":     {Orders{Stick: 0.5}, Orders{Stick: 0.55}},
		"stick down 5 %":   {Orders{Stick: 0.03}, Orders{}},
		"stick up 20 %":    {Orders{Stick: 0.9}, Orders{Stick: 1}},
		"select 1500 µs":   {after: Orders{Select: 0.5}},
		"select mid":       {after: Orders{Select: 0.5}},
		"select 3 ms":      {after: Orders{Select: 1}},
		"pickup idle":      {after: Orders{Shown: Turning, Speed: idle}},
		"pickup 12000 rpm": {after: Orders{Shown: Turning, Speed: 12000 * rpm}},
		"pickup up 2 %":    {Orders{Shown: Turning, Speed: 1000}, Orders{Shown: Turning, Speed: 1020}},
		"pickup down 99 %": {Orders{Shown: Turning, Speed: 1000}, Orders{Shown: Turning, Speed: idle / 2}},
		"pickup off":       {Orders{Stick: 0.3, Shown: Turning, Speed: 5}, Orders{Stick: 0.3, Speed: 5}},
		"engine":           {Orders{Stick: 0.3, Shown: Turning, Load: 1}, Orders{Shown: Simulated}},
		"load 50 %":        {Orders{Shown: Simulated}, Orders{Shown: Simulated, Load: 0.5}},
		"rest":             {Orders{Stick: 0.8, Select: 0.2, Shown: Simulated, Load: 1}, Orders{Select: 0.2}},
		"":                 {Orders{Stick: 0.8}, Orders{Stick: 0.8}},
	}
	for text, tt := range tests {
		o := tt.before
		end, err := o.Order(text, m)
		require.NoError(t, err, text)
		require.False(t, end)
		for _, pair := range [][2]float64{{tt.after.Stick, o.Stick}, {tt.after.Select, o.Select}, {tt.after.Speed, o.Speed}, {tt.after.Load, o.Load}} {
			require.InDelta(t, pair[0], pair[1], 1e-9, text)
		}
		require.Equal(t, tt.after.Shown, o.Shown, text)
	}
	end, err := new(Orders).Order("end", m)
	require.NoError(t, err)
	require.True(t, end)
}

// What is no order says what is wrong with it, and changes nothing.
func TestNoOrders(t *testing.T) {
	m := proceduretest.Medium(t)
	for text, want := range map[string]string{
		"stick":            `"stick" is no order`,
		"stick north":      `"north" is no share`,
		"stick NaN":        "is no share",
		"throttle 3 %":     `"throttle 3 %" is no order`,
		"load 50 %":        "order engine first",
		"pickup 90000 rpm": "pickup pulses are played of 1600 to 21600 rpm",
		"pickup 12000":     "has no unit",
		"pickup up 2 %":    "order one first",
		"select sideways":  "is no share",
	} {
		o := Orders{Stick: 0.4, Select: 0.3}
		_, err := o.Order(text, m)
		require.ErrorContains(t, err, want, text)
		require.Equal(t, Orders{Stick: 0.4, Select: 0.3}, o)
	}
	m.Governor.Select = machine.SelectNone
	_, err := new(Orders).Order("select mid", m)
	require.ErrorContains(t, err, "no select input")
}
