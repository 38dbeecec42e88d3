package gallery

import (
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// Cells of governor × procedure in which something wrong is said today. A cell
// leaves its list when it is right, and none is added: -renew writes them.
const (
	galleryPath = "testdata/wrong.txt"
	seriesKnown = "testdata/wrong-drawn.txt"
)

var lists = sync.OnceValues(func() (cells []string, err error) {
	for _, path := range []string{galleryPath, seriesKnown} {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		cells = append(cells, strings.Split(string(text), "\n")...)
	}
	return cells, nil
})

// known reports whether a cell is known to be wrong.
func known(t *testing.T, cell string) bool {
	cells, err := lists()
	require.NoError(t, err)
	return *renew || slices.Contains(cells, cell)
}

func store(t *testing.T, path string, cells []string) {
	require.NoError(t, os.WriteFile(path, []byte(strings.Join(cells, "\n")+"\n"), 0o644))
}

func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func (x *series) renew(t *testing.T) { store(t, seriesKnown, sorted(x.cells)) }
