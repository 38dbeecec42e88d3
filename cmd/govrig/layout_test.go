package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
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

// layers in the order of their imports: each may import itself and those
// before it.
var layers = map[string]int{"protocol": 0, "sim": 1, "rig": 2, "cmd": 3}

func layer(path string) (rank int, known bool) {
	name, _, _ := strings.Cut(path, "/")
	rank, known = layers[name]
	return rank, known
}

// against reports whether a package at path may not import the given one.
func against(path, imported string) bool {
	inside, ours := strings.CutPrefix(imported, "govrig/")
	if !ours {
		return false
	}
	from, known := layer(path)
	to, _ := layer(inside)
	return known && to > from
}

// Imports run cmd → rig → sim → protocol, never back.
func TestImportsRunOneWay(t *testing.T) {
	require.True(t, against("sim/standin/board/board.go", "govrig/rig"))
	require.False(t, against("rig/loop.go", "govrig/sim/standin/board"))
	for _, s := range sources(t) {
		for _, spec := range s.file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			require.False(t, against(s.path, imported), "%s imports %s", s.path, imported)
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
