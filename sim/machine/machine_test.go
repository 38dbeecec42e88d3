package machine_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
)

func TestWorkedMachinesLoad(t *testing.T) {
	files, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			m, err := machine.Load(file)
			require.NoError(t, err)
			require.NoError(t, m.HeliParams().Validate())
			require.NoError(t, m.LinkageParams().Validate())
			require.NoError(t, m.PickupParams().Validate())
			require.NoError(t, m.GovernorParams(16e6).Validate())
			require.NotEmpty(t, m.Speeds)
		})
	}
}

func BenchmarkParse(b *testing.B) {
	text := []byte(medium(b))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := machine.Parse("mine.yaml", text); err != nil {
			b.Fatal(err)
		}
	}
}
