package gallery

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"text/tabwriter"

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
	kinds map[gallery.Kind]*tally
}

// tally counts the runs of a kind, those that passed, those in which something was
// wrong, and the specimens that passed where they must not.
type tally struct {
	runs, passed, wrong int
	members, wrongly    map[string]bool // every one; those of which something wrong was said
	slipped             map[string]bool // passed where only a miss, or nothing, will do
}

// count counts a run.
func (x *series) count(m *gallery.Member, r *seen, wrong bool) {
	c := x.kinds[m.Kind]
	if c == nil {
		c = &tally{members: map[string]bool{}, wrongly: map[string]bool{}, slipped: map[string]bool{}}
		x.kinds[m.Kind] = c
	}
	c.runs++
	c.members[m.Name] = true
	if r.Outcome == pass {
		c.passed++
		if e, ok := expected[m.Kind][r.Procedure]; ok && len(e.outcomes) > 0 && !slices.Contains(e.outcomes, pass) {
			c.slipped[m.Name] = true
		}
	}
	if wrong {
		c.wrong++
		c.wrongly[m.Name] = true
	}
}

// counts tells, by kind, how it went.
func (x *series) counts() string {
	var b bytes.Buffer
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "kind\tdrawn\tright in all\tpassed wrongly\truns\tpassed\twrong")
	for _, kind := range slices.Sorted(maps.Keys(x.kinds)) {
		c := x.kinds[kind]
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%d\t%d\n", kind, len(c.members), len(c.members)-len(c.wrongly), len(c.slipped), c.runs, c.passed, c.wrong)
	}
	w.Flush()
	return b.String()
}

// run runs a specimen through a procedure.
func (x *series) run(t *testing.T, p *execution.Procedure, s *gallery.Specimen) {
	r := saw(s.Member.Name, p.Name, virtual(t, p, s.Machine, s.Member))
	why := wrongs(s.Machine, s.Member, &r)
	x.mu.Lock()
	defer x.mu.Unlock()
	x.runs++
	x.count(&s.Member, &r, len(why) > 0)
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
	x := &series{cells: map[string][]string{}, told: map[string]seen{}, kinds: map[gallery.Kind]*tally{}}
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
	t.Logf("%d runs, %d of them with something wrong\n%s", x.runs, len(x.cells), x.counts())
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
	fmt.Fprintf(&b, "# Drawn by lot\n\n%d runs, %d of them with something wrong.\n\n```\n%s```\n", x.runs, len(x.cells), x.counts())
	for _, k := range sorted(x.cells) {
		r := x.told[k]
		describe(&b, &r, x.cells[k])
	}
	return b.Bytes()
}
