package main

import (
	"net/url"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// misplaced lists what is wrong with the words of the page's drawings, as the
// browser sets them: those that stick out of their drawing, labels of axes that
// lie on one another, and figures that are not all equally wide.
const misplaced = `(() => {
	const bad = [];
	for (const drawing of document.querySelectorAll("svg.pen.figure")) {
		const frame = drawing.getBoundingClientRect(), seen = [];
		if (frame.width === 0) continue;
		for (const text of drawing.querySelectorAll("text")) {
			const r = text.getBoundingClientRect(), words = text.textContent;
			if (r.left < frame.left - 1 || r.right > frame.right + 1 || r.top < frame.top - 1 || r.bottom > frame.bottom + 1)
				bad.push(words + " sticks out");
			if (!getComputedStyle(text).fontVariantNumeric.includes("tabular-nums")) bad.push(words + " dances");
			if (!text.classList.contains("tick")) continue;
			for (const o of seen)
				if (r.left < o.right && o.left < r.right && r.top + 3 < o.bottom && o.top + 3 < r.bottom) bad.push(words + " lies on another");
			seen.push(r);
		}
	}
	return bad;
})()`

// drawn requires so many drawings at least, each with its words in place.
func (b *tab) drawn(least int) {
	b.t.Helper()
	require.GreaterOrEqual(b.t, eval[int](b, `[...document.querySelectorAll("svg.pen.figure > title")].filter(t => t.textContent).length`), least)
	require.Empty(b.t, eval[[]string](b, misplaced))
}

// The files that plan and predict draw stand alone, fit any window, and are light
// or dark as the person likes it; paper is white.
func drawFiles(t *testing.T, b *tab) {
	for name, args := range map[string][]string{
		"plan":         {"plan", mediumFile},
		"predict":      {"predict", mediumFile, "--gains", "15..600/8", "--times", "0.4,0.8,1.6"},
		"predict-wide": {"predict", mediumFile, "--gains", "10..700/20", "--times", "0.2..2/4", "--rod", "60"},
	} {
		path, err := filepath.Abs(filepath.Join(b.dir, name+".svg"))
		require.NoError(t, err)
		errs, code := inBackground(append(args, "--svg", path)...)
		require.Equal(t, exitPass, <-code, errs)
		b.open((&url.URL{Scheme: "file", Path: path}).String())
		b.shootAll(name)
		b.drawn(1)
		paper := `getComputedStyle(document.querySelector("rect.paper")).fill`
		require.Equal(t, "rgb(255, 255, 255)", eval[string](b, paper))
		b.scheme("dark")
		require.Equal(t, "rgb(17, 22, 29)", eval[string](b, paper))
		require.Equal(t, 1, b.print(name))
		b.scheme("light")
		b.address = (&url.URL{Scheme: "file", Path: filepath.Dir(path)}).String()
	}
	b.quiet()
}
