package gallery

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"text/tabwriter"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/standin/gallery"
)

var (
	reportPath = flag.String("report", "", "write all that was said, right or wrong, to this file")
	renew      = flag.Bool("renew", false, "store which cells of the table are wrong today")
	keepPath   = flag.String("keep", "", "keep what was said in this file, and take it from there if it is there already")
)

// table is what was seen on a machine, by member and procedure.
type table struct {
	m    *machine.Machine
	mu   sync.Mutex
	said map[string]*seen
}

func key(member, procedure string) string { return member + " × " + procedure }

// fill runs every member through every procedure on the medium machine.
func (x *table) fill(t *testing.T) {
	if x.recall(t) {
		return
	}
	t.Run("run", func(t *testing.T) {
		for _, member := range gallery.Members() {
			for _, p := range procedures {
				t.Run(key(member.Name, p.Name), func(t *testing.T) {
					t.Parallel()
					s := saw(member.Name, p.Name, virtual(t, p, x.m, member))
					x.mu.Lock()
					defer x.mu.Unlock()
					x.said[key(member.Name, p.Name)] = &s
				})
			}
		}
	})
	if *keepPath != "" {
		text, err := json.MarshalIndent(x.said, "", " ")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(*keepPath, text, 0o644))
	}
}

func (x *table) recall(t *testing.T) bool {
	text, err := os.ReadFile(*keepPath)
	if err == nil {
		require.NoError(t, json.Unmarshal(text, &x.said))
	}
	return err == nil
}

// print lays out governor × procedure: the outcome, and ! where something of it
// is wrong.
func (x *table) print() string {
	var b bytes.Buffer
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprint(w, "governor")
	for _, p := range procedures {
		fmt.Fprintf(w, "\t%s", p.Name)
	}
	fmt.Fprintln(w)
	for _, member := range gallery.Members() {
		fmt.Fprint(w, member.Name)
		for _, p := range procedures {
			s := x.said[key(member.Name, p.Name)]
			mark := ""
			if len(wrongs(x.m, member, s)) > 0 {
				mark = " !"
			}
			fmt.Fprintf(w, "\t%s%s", strings.ReplaceAll(string(s.Outcome), "_", " "), mark)
		}
		fmt.Fprintln(w)
	}
	w.Flush()
	return b.String()
}

// wrong lists the cells that are wrong, in order.
func (x *table) wrong() (cells []string) {
	for _, member := range gallery.Members() {
		for _, p := range procedures {
			k := key(member.Name, p.Name)
			if len(wrongs(x.m, member, x.said[k])) > 0 {
				cells = append(cells, k)
			}
		}
	}
	return cells
}

func (x *table) report() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# The gallery today\n\n```\n%s```\n\n! marks a cell in which something is wrong: %d of %d.\n", x.print(), len(x.wrong()), len(x.said))
	for _, member := range gallery.Members() {
		fmt.Fprintf(&b, "\n## %s (%s)\n\n%s.\n", member.Name, member.Kind, member.About)
		for _, p := range procedures {
			s := x.said[key(member.Name, p.Name)]
			describe(&b, s, wrongs(x.m, member, s))
		}
	}
	return b.Bytes()
}

// What was right stays right: only the cells listed in testdata may be wrong.
func TestGallery(t *testing.T) {
	x := &table{m: medium(t), said: map[string]*seen{}}
	x.fill(t)
	require.Len(t, x.said, len(gallery.Members())*len(procedures), "the table is judged as a whole: -run cannot pick its cells")
	t.Logf("\n%s", x.print())
	if *reportPath != "" {
		require.NoError(t, os.WriteFile(*reportPath, x.report(), 0o644))
	}
	if *renew {
		store(t, galleryPath, x.wrong())
	}
	for _, cell := range x.wrong() {
		if !known(t, cell) {
			member, _, _ := strings.Cut(cell, " × ")
			t.Errorf("%s: %s", cell, strings.Join(wrongs(x.m, memberOf(t, member), x.said[cell]), "; "))
		}
	}
}
