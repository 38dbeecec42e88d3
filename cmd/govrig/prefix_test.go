package main

import (
	"go/ast"
	"strconv"
	"strings"
	"testing"
)

// An error is read by a person: its text does not begin with the name of the
// package that it comes from.
func TestNoPackageBeforeAMessage(t *testing.T) {
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			text, ok := n.(*ast.BasicLit)
			if !ok {
				return true
			}
			said, err := strconv.Unquote(text.Value)
			if err == nil && strings.HasPrefix(said, s.file.Name.Name+": ") && !strings.Contains(s.path, "/internal/") {
				t.Errorf("%s: %q", s.path, said)
			}
			return true
		})
	}
}
