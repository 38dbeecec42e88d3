package gallery

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/gallery"
)

const firmwareNotes = "../../firmware-notes"

// emulated runs a procedure on the real firmware in the emulator.
func emulated(t testing.TB, p *execution.Procedure, m *machine.Machine, member gallery.Member) *execution.Run {
	g := member.New(gallery.WiringOf(m, emulator.TickHz), 0)
	harness, err := emulator.Build(filepath.Join(firmwareNotes, "emulator"))
	require.NoError(t, err)
	board, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(firmwareNotes, "firmware", "firmware.hex"), Governor: g,
	})
	require.NoError(t, err)
	return run(t, p, m, g, board)
}

// Three members on the real firmware: the outcome is that of the virtual board,
// and so is every topic of what is said.
func TestEmulatedGallery(t *testing.T) {
	m := medium(t)
	for member, procedure := range map[string]string{"pid": "spoolup", "holds": "faults", "jitters": "throttle"} {
		t.Run(key(member, procedure), func(t *testing.T) {
			t.Parallel()
			p, governor := procedures.Find(procedure), memberOf(t, member)
			v := saw(member, procedure, virtual(t, p, m, governor))
			e := saw(member, procedure, emulated(t, p, m, governor))
			require.Equal(t, v.Outcome, e.Outcome, "%+v", e)
			for topic := range topics {
				require.Equal(t, v.says(topic), e.says(topic), "%s: %v and %v", topic, v.Found, e.Found)
			}
		})
	}
}

func memberOf(t *testing.T, name string) gallery.Member {
	for _, m := range gallery.Members() {
		if m.Name == name {
			return m
		}
	}
	require.Fail(t, "no member", name)
	return gallery.Member{}
}
