package procedure

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every procedure can be run again from its record: it has a starter, and
// records the options it was called with.
func TestEveryPlanCanBeRunAgain(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	plans := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
		require.NoError(t, err)
		ast.Inspect(tree, func(n ast.Node) bool {
			plan, ok := n.(*ast.CompositeLit)
			if !ok {
				return true
			}
			if kind, ok := plan.Type.(*ast.Ident); !ok || kind.Name != "plan" || len(plan.Elts) == 0 {
				return true
			}
			fields := map[string]ast.Expr{}
			for _, e := range plan.Elts {
				pair := e.(*ast.KeyValueExpr)
				fields[pair.Key.(*ast.Ident).Name] = pair.Value
			}
			require.Contains(t, fields, "options", file)
			name, err := strconv.Unquote(fields["name"].(*ast.BasicLit).Value)
			require.NoError(t, err)
			require.Contains(t, Names(), name, "%s: add it to starters", file)
			plans++
			return true
		})
	}
	require.Equal(t, len(Names()), plans)
}
