package badlink_test

import (
	"context"
	"io"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/internal/badlink"
	"govrig/rig/internal/flywheel"
	"govrig/rig/runlog"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

// powered gives the firmware in the emulator, watched.
func powered(t *testing.T, harness string) *watched {
	w := &watched{slack: slackTicks, rise: map[governor.Line]int64{}}
	b, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: "../../../firmware-notes/firmware/firmware.hex",
		Watch: func(pin emulator.Pin, tick int64, high bool) {
			if line, ok := pin.Line(); ok {
				w.edge(line, tick, high)
			}
		},
	})
	require.NoError(t, err)
	t.Cleanup(func() { b.Close() })
	w.far = b
	return w
}

// turning is an engine that turns at 6000 rpm for half a second.
func turning() *rig.Loop {
	const stepTicks, hz = 4_000, emulator.TickHz
	plant := flywheel.New(flywheel.Params{
		Inertia: 8e-4, Torque: 1.2, Load: 4, Drag: 2e-4, Closed: 1.1e-3, Open: 1.9e-3, Ratio: 26. / 3, Speed: 628,
	}, float64(stepTicks)/hz)
	return rig.NewLoop(rig.Setup{Plant: plant, StepTicks: stepTicks, TickRate: hz, Magnets: 1}, rig.Script{Phases: []rig.Phase{
		{Name: "turning", Steps: hz / 2 / stepTicks, Stick: 1500 * time.Microsecond},
	}})
}

// The firmware itself over bad wires: whatever happens, it is safe within its
// failsafe time.
func TestFirmwareIsSafe(t *testing.T) {
	harness, err := emulator.Build("../../../firmware-notes/emulator")
	require.NoError(t, err)
	pulses := 0
	for kind := range badlink.Kinds {
		rng := rand.New(rand.NewPCG(uint64(kind), 11))
		var boards []*watched
		start := func() io.ReadWriteCloser {
			boards = append(boards, powered(t, harness))
			return boards[len(boards)-1]
		}
		faults := badlink.Random(rng, kind, 250)
		wire := badlink.New(start(), start, rng, faults...)
		session, err := rig.Open(context.Background(), wire, rig.Settings{SafeStick: 1100 * time.Microsecond})
		if err == nil {
			_ = session.Run(context.Background(), turning(), nil, func(*runlog.Sample) {})
			_ = session.Close() // how it ended is the other series' business
		}
		for _, b := range boards {
			b.alone(1)
			require.Empty(t, b.unsafe, "%+v", faults)
			pulses += b.pulses
		}
	}
	require.Greater(t, pulses, 100, "pulses were played at all")
}
