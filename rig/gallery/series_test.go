package gallery

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/sim/standin/board"
	"govrig/sim/standin/gallery"
)

var (
	healthySeeds = flag.Uint64("healthy", 2, "how many healthy machines and governors are drawn")
	sickSeeds    = flag.Uint64("sick", 1, "how many are drawn of each kind of sickness")
	seriesPath   = flag.String("series", "", "write what was wrong of those that were drawn to this file")
)

// series is what was said of specimens.
type series struct {
	mu    sync.Mutex
	runs  int
	cells map[string][]string // that are wrong, and why
	told  map[string]seen
}

// run runs a specimen through a procedure.
func (x *series) run(t *testing.T, p *execution.Procedure, s *gallery.Specimen) {
	r := saw(s.Member.Name, p.Name, virtual(t, p, s.Machine, s.Member))
	why := wrongs(s.Machine, s.Member, &r)
	x.mu.Lock()
	defer x.mu.Unlock()
	x.runs++
	if k := key(s.Member.Name, p.Name); len(why) > 0 {
		x.cells[k], x.told[k] = why, r
		if !known(t, k) {
			t.Errorf("%s (%s): %s", k, s.Member.About, strings.Join(why, "; "))
		}
	}
}

// Of healthy machines and governors drawn by lot nothing is said that is wrong,
// and of sick ones what is: but for the cells listed in testdata.
func TestSeries(t *testing.T) {
	x := &series{cells: map[string][]string{}, told: map[string]seen{}}
	t.Run("draw", func(t *testing.T) {
		for seed := range *healthySeeds {
			s, err := gallery.NewHealthy(seed, board.TickHz)
			require.NoError(t, err)
			for _, p := range procedures {
				t.Run(key(s.Member.Name, p.Name), func(t *testing.T) { t.Parallel(); x.run(t, p, s) })
			}
		}
		for _, kind := range gallery.Kinds() {
			for seed := range *sickSeeds {
				x.sick(t, kind, seed)
			}
		}
	})
	t.Logf("%d runs, %d of them with something wrong", x.runs, len(x.cells))
	if *seriesPath != "" {
		require.NoError(t, os.WriteFile(*seriesPath, x.report(), 0o644))
	}
	if *renew {
		x.renew(t)
	}
}

// sick runs a sick specimen through the procedures that its kind shows in.
func (x *series) sick(t *testing.T, kind gallery.Kind, seed uint64) {
	s, err := gallery.NewSick(kind, seed, board.TickHz)
	require.NoError(t, err)
	for _, p := range procedures {
		if _, shows := expected[kind][p.Name]; shows {
			t.Run(key(s.Member.Name, p.Name), func(t *testing.T) { t.Parallel(); x.run(t, p, s) })
		}
	}
}

func (x *series) report() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# Drawn by lot\n\n%d runs, %d of them with something wrong.\n", x.runs, len(x.cells))
	for _, k := range sorted(x.cells) {
		r := x.told[k]
		describe(&b, &r, x.cells[k])
	}
	return b.Bytes()
}
