package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const root = "../.."

// source is one Go file of the project.
type source struct {
	path string // from the root
	file *ast.File
	test bool
}

// sources parses every Go file of the project.
func sources(t *testing.T) (all []source) {
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		relative, err := filepath.Rel(root, path)
		all = append(all, source{filepath.ToSlash(relative), file, strings.HasSuffix(path, "_test.go")})
		return err
	})
	require.NoError(t, err)
	require.Greater(t, len(all), 30)
	return all
}

// order is that of the rooms, from the ground up. A package belongs to the
// longest name that its path begins with; it may import its own room and those
// before it. A new room gets its place here.
var order = strings.Fields(`
	firmware-notes protocol protocol/frame protocol/internal protocol/harmless
	sim/words sim/unit sim/keyfile sim/bound sim
	sim/air sim/servo sim/linkage sim/drive sim/rotor sim/engine sim/heli sim/pickup
	sim/dyno sim/turntable sim/standin/governor sim/machine
	sim/standin/bridge sim/standin/board sim/standin/emulator sim/standin/gallery
	rig/tick rig/phase rig/pen rig/measure rig/finding rig/runlog rig rig/internal
	rig/link rig/execution rig/execution/openloop rig/execution/governed rig/procedure rig/gallery
	rig/commission rig/record rig/advise rig/identification rig/show/report rig/show/live rig/show/workbench
	cmd`)

// room is the place in the order of a package at a path, or -1.
func room(path string) int {
	for ; path != "."; path = filepath.Dir(path) {
		if at := slices.Index(order, path); at >= 0 {
			return at
		}
	}
	return -1
}

// against reports whether a package may not import another.
func against(importing, imported string) bool {
	inside, ours := strings.CutPrefix(imported, "govrig/")
	return ours && room(inside) > room(importing)
}

// Imports run cmd → rig → sim → protocol, never back, and inside these from
// room to room in one direction. Go itself refuses circles of packages; what the
// order adds is that no two rooms use each other.
func TestImportsRunOneWay(t *testing.T) {
	require.True(t, against("sim/standin/board", "govrig/rig"))
	require.True(t, against("rig/finding", "govrig/rig/procedure/hold"))
	require.False(t, against("rig", "govrig/sim/standin/board"))
	require.False(t, against("rig/procedure/tune", "govrig/rig/procedure/sweep"))
	for _, s := range sources(t) {
		folder := filepath.ToSlash(filepath.Dir(s.path))
		require.True(t, room(folder) >= 0, "%s has no place in the order", folder)
		for _, spec := range s.file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			from, to := folder, imported
			if s.test { // may look about in its own part of the house
				from, _, _ = strings.Cut(from, "/")
				to = strings.Join(strings.SplitN(to, "/", 3)[:min(2, strings.Count(to, "/")+1)], "/")
			}
			require.False(t, against(from, to), "%s imports %s", s.path, imported)
			if imported == "go.bug.st/serial" {
				require.True(t, strings.HasPrefix(s.path, "rig/link/"), "%s: only rig/link knows the serial library", s.path)
			}
		}
	}
}

// clockFiles may read the wall clock: port time-outs, pacing, and the host's
// half of the clock-error estimate.
var clockFiles = []string{"rig/link/", "cmd/", "sim/standin/emulator/pace"}

// The board's tick is the only clock of everything else.
func TestOnlyTheEdgesKnowWallTime(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || mayUseClock(s.path) {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			selector, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := selector.X.(*ast.Ident); ok && x.Name == "time" {
				switch selector.Sel.Name {
				case "Now", "Since", "Sleep", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc":
					t.Errorf("%s uses time.%s", s.path, selector.Sel.Name)
				}
			}
			return true
		})
	}
}

func mayUseClock(path string) bool {
	for _, prefix := range clockFiles {
		if strings.HasPrefix(path, prefix) {
			return true
		}
	}
	return false
}

// The gallery of governors is there to test judgement, and no part of the
// program.
func TestOnlyTestsImportTheGallery(t *testing.T) {
	imports := 0
	for _, s := range sources(t) {
		for _, spec := range s.file.Imports {
			if spec.Path.Value == `"govrig/sim/standin/gallery"` {
				imports++
				require.True(t, s.test, "%s imports the gallery", s.path)
			}
		}
	}
	require.Positive(t, imports)
}

// Nothing but the listed names stands at the top of the tree.
func TestTopLevel(t *testing.T) {
	allowed := "cmd rig sim protocol firmware-notes testdata go.mod go.sum README.md DEVELOPERS.md LICENSE "
	entries, err := os.ReadDir(root)
	require.NoError(t, err)
	for _, entry := range entries {
		name := entry.Name()
		if !strings.HasPrefix(name, ".") && name != "runs" {
			require.Contains(t, allowed, name+" ")
		}
	}
}
