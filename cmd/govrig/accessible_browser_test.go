package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"

	"github.com/stretchr/testify/require"
)

// accessible holds what the tab shows against the rules of WCAG 2.2 A and AA and
// against best practice, as axe-core has them (Deque, MPL-2.0). Its own policy
// lets a page ask for nothing, so the rules are put into it by the browser.
func (b *tab) accessible(name string) {
	b.t.Helper()
	rules, err := os.ReadFile("testdata/axe/node_modules/axe-core/axe.min.js")
	require.NoError(b.t, err, "cd cmd/govrig/testdata/axe && npm ci")
	eval[bool](b, string(rules)+"; true")
	eval[bool](b, `window.axeFound = ""; axe.run({ resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] })
		.then((r) => { window.axeFound = JSON.stringify({ passes: r.passes.length, violations: r.violations }); }); true`)
	b.until(`window.axeFound !== ""`)
	text := eval[string](b, "window.axeFound")
	var found struct {
		Passes     int `json:"passes"`
		Violations []struct {
			ID, Help string
			Nodes    []struct {
				HTML string `json:"html"`
				Why  string `json:"failureSummary"`
			}
		} `json:"violations"`
	}
	require.NoError(b.t, json.Unmarshal([]byte(text), &found))
	var all strings.Builder
	for _, v := range found.Violations {
		fmt.Fprintf(&all, "%s: %s\n", v.ID, v.Help)
		for _, n := range v.Nodes {
			fmt.Fprintf(&all, "  %s\n  %s\n", n.HTML, n.Why)
		}
	}
	require.Empty(b.t, all.String(), name)
	require.Greater(b.t, found.Passes, 5, "%s: the rules looked at something", name)
}
