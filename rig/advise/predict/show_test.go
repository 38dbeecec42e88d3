package predict

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"govrig/sim/words"
)

// shownGrid is a prediction with a grid of the given size, and a case with a
// rod so long that the throttle does not open far enough for the load.
func shownGrid(t *testing.T, gains, times int) *Prediction {
	m := load(t, "medium-15cc")
	own := m.GovernorParams(tickRate)
	p, err := New(context.Background(), m, Options{
		Gains: around(own.Gain, ownGain, gains), Times: around(own.IntegralTime, min(2, times-1), times),
		Rods: []float64{0.068},
	})
	require.NoError(t, err)
	return p
}

func text(t *testing.T, p *Prediction) string {
	var b strings.Builder
	require.NoError(t, p.WriteText(&b))
	for line := range strings.Lines(b.String()) {
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), words.Columns, line)
	}
	return b.String()
}

func TestTextOfAWideGrid(t *testing.T) {
	p := shownGrid(t, 10, 3)
	s := text(t, p)
	require.Contains(t, s, "nothing here has been measured")
	require.Equal(t, 2, strings.Count(s, "\n      0.8  "), "a row of each grid")
	require.Contains(t, strings.Join(strings.Fields(s), " "), "no load step: 1480 rpm on the head at 6.5° of collective: the engine cannot hold this load")
	require.Contains(t, s, "~~~~")
	own := p.Cases[0].Cells[p.Cases[0].Own]
	require.Contains(t, s, fmt.Sprintf("(%.2f)", *own.Recovery))
	require.Contains(t, s, fmt.Sprintf("(%.2f)", -*own.Deviation))
	require.Regexp(t, `\[\d\.\d\d\]`, s)
	require.Regexp(t, `█\d\.\d\d█`, s)
	require.Contains(t, s, fmt.Sprintf("gain 30 %%/krpm, integral time 0.8 s: recovery %.2f s, dip %.1f %%", *own.Recovery, -*own.Deviation))
}

func TestTextOfANarrowGrid(t *testing.T) {
	s := text(t, shownGrid(t, 20, 1))
	require.Contains(t, s, "[]")
	require.Contains(t, s, "()")
	require.Contains(t, s, "~~~~~~")
}

func TestQuarters(t *testing.T) {
	cells := make([]Cell, 9)
	for i := range 8 {
		cells[i] = held(float64(i), 1, 1)
	}
	cells[8] = held(-5, 1, 1)
	cells[8].Misses = []string{"max_dip"}
	q := newQuarters(cells, recovery)
	require.Len(t, q, 8, "only good cells make the scale")
	var got []int
	for i := range 8 {
		got = append(got, q.of(float64(i)))
	}
	require.Equal(t, []int{0, 0, 1, 1, 2, 2, 3, 3}, got)
	require.Equal(t, 0, newQuarters(nil, recovery).of(1))
}

// The drawing is well-formed, holds each cell once a panel, and every name that
// it shows is escaped.
func TestSVG(t *testing.T) {
	p := shownGrid(t, 4, 2)
	p.Machine = `<b>&"`
	var b bytes.Buffer
	require.NoError(t, p.WriteSVG(&b))
	count := map[string]int{}
	d := xml.NewDecoder(&b)
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			count[token.Name.Local]++
		case xml.CharData:
			if strings.Contains(string(token), `<b>&"`) {
				count["name"]++
			}
		}
	}
	require.Equal(t, 1, count["svg"])
	require.Equal(t, 2, count["name"], "as the name of the picture, and as its heading")
	require.GreaterOrEqual(t, count["rect"], 2*2*8)
}

func TestJSON(t *testing.T) {
	p := shownGrid(t, 4, 2)
	var b bytes.Buffer
	require.NoError(t, p.WriteJSON(&b))
	var back Prediction
	d := json.NewDecoder(&b)
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&back))
	require.Equal(t, *p, back)
	require.Equal(t, Schema, back.Schema)
}
