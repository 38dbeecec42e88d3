package table

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"govrig/rig/measure/hunting"
	"govrig/rig/measure/logfile"
)

// Beside the reading the same is found as by a scanner that is fed directly, cuts and
// all, and nothing goes on when the log turns out to be none.
func TestScanBesideTheReading(t *testing.T) {
	defer goleak.VerifyNone(t)
	s, direct := newScan(hunting.Config{}), hunting.NewScanner(hunting.Config{})
	for i := range 3*batchSize + 17 {
		at := float64(i) * 0.01
		r := logfile.Row{Time: at, Speed: 12_000 + 40*math.Sin(2*math.Pi*0.8*at), Throttle: 1500}
		if i == 5_000 {
			s.cut()
			direct.Cut()
		}
		s.add(r)
		direct.Add(r.Time, r.Speed, r.Throttle)
	}
	require.Equal(t, direct.Summary(), s.summary())
	for _, log := range []string{"", "time_s,speed_rpm\n0,1\n1,x\n", "time_s,speed_rpm\n"} {
		_, err := Measure(strings.NewReader(log), Options{Band: 2})
		require.Error(t, err)
	}
}
