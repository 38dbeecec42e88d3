package pen

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// linear are the three channels of a colour of the palette, linear in light
// (IEC 61966-2-1).
func linear(t *testing.T, hex string) (rgb [3]float64) {
	require.Len(t, hex, 7)
	for i := range rgb {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		if v := float64(n) / 255; v <= 0.04045 {
			rgb[i] = v / 12.92
		} else {
			rgb[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return rgb
}

func luminance(rgb [3]float64) float64 { return 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2] }

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b [3]float64) float64 {
	high, low := luminance(a), luminance(b)
	if low > high {
		high, low = low, high
	}
	return (high + 0.05) / (low + 0.05)
}

// schemes are the palette on light ground and on dark.
func schemes(t *testing.T) map[string]map[string][3]float64 {
	all := map[string]map[string][3]float64{"light": {}, "dark": {}}
	for _, c := range colours {
		all["light"][c.name], all["dark"][c.name] = linear(t, c.light), linear(t, c.dark)
	}
	return all
}

// WCAG's own example: black on white is 21 to 1, #777777 on white 4.48.
func TestContrast(t *testing.T) {
	white := linear(t, "#ffffff")
	require.InDelta(t, 21, contrast(white, linear(t, "#000000")), 1e-9)
	require.InDelta(t, 4.48, contrast(linear(t, "#777777"), white), 0.005)
}

// WCAG 2.2, level AA: 4.5 to 1 for text (1.4.3), 3 to 1 for what has to be seen
// of a drawing (1.4.11).
func TestContrasts(t *testing.T) {
	const text, line = 4.5, 3
	for scheme, of := range schemes(t) {
		for _, pair := range []struct {
			front, back string
			least       float64
		}{
			{"ink", "paper", text}, {"pale", "paper", text}, {"ink", "panel", text}, {"pale", "panel", text}, {"ink", "grid", text},
			{"pass", "paper", text}, {"fail", "paper", text}, {"open", "paper", text}, {"on", "fail", text},
			{"paper", "best", text}, {"paper", "good", text}, {"ink", "fair", text}, {"ink", "last", text},
			{"first", "paper", line}, {"second", "paper", line}, {"limit", "paper", line},
		} {
			got := contrast(of[pair.front], of[pair.back])
			require.GreaterOrEqual(t, got, pair.least, "%s: %s on %s", scheme, pair.front, pair.back)
		}
	}
}

// blindness are what is left of red, green and blue (linear) to people without
// one of the three cones: Machado, Oliveira and Fernandes, A physiologically-based
// model for simulation of color vision deficiency, 2009, severity 1 (from memory).
var blindness = map[string][3][3]float64{
	"none":         {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func seen(m [3][3]float64, rgb [3]float64) (out [3]float64) {
	for i := range out {
		for j := range rgb {
			out[i] += m[i][j] * rgb[j]
		}
		out[i] = max(0, min(1, out[i]))
	}
	return out
}

// lab is CIE 1976 L*a*b* for D65 (CIE 15; matrix of IEC 61966-2-1).
func lab(rgb [3]float64) [3]float64 {
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	x := f((0.4124*rgb[0] + 0.3576*rgb[1] + 0.1805*rgb[2]) / 0.9505)
	y := f(luminance(rgb))
	z := f((0.0193*rgb[0] + 0.1192*rgb[1] + 0.9505*rgb[2]) / 1.089)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

func difference(a, b [3]float64) float64 {
	p, q := lab(a), lab(b)
	return math.Hypot(math.Hypot(p[0]-q[0], p[1]-q[1]), p[2]-q[2])
}

// The two curves of one chart are far apart in colour for everybody; a difference
// of 2.3 is just seen (Mahy et al., 1994).
func TestColoursAreToldApart(t *testing.T) {
	for scheme, of := range schemes(t) {
		for kind, m := range blindness {
			name := fmt.Sprintf("%s, %s", scheme, kind)
			require.Greater(t, difference(seen(m, of["first"]), seen(m, of["second"])), 20.0, name)
			for _, pair := range [][2]string{{"best", "good"}, {"good", "fair"}, {"fair", "last"}} {
				require.Greater(t, difference(seen(m, of[pair[0]]), seen(m, of[pair[1]])), 8.0, "%s: %v", name, pair)
			}
		}
	}
}

// Each curve can be told from the others without colour, by its dashes.
func TestStrokesDifferWithoutColour(t *testing.T) {
	dashes := regexp.MustCompile(`stroke-dasharray: ([^;]*)`)
	found := map[string]Stroke{}
	for _, s := range []Stroke{First, Second, Wanted, Event} {
		_, rule, ok := strings.Cut(look, ".pen ."+string(s)+" {")
		require.True(t, ok, "%s has no look", s)
		rule, _, _ = strings.Cut(rule, "}")
		dash := strings.Join(dashes.FindStringSubmatch(rule), "")
		require.NotContains(t, found, dash, "%s", s)
		found[dash] = s
	}
}

// Every colour that the look uses is in the palette, and a file has them all put
// in.
func TestLookUsesThePalette(t *testing.T) {
	known := map[string]bool{}
	for _, c := range colours {
		require.False(t, known[c.name])
		known[c.name] = true
	}
	used := regexp.MustCompile(`var\(--([a-z]+)\)`).FindAllStringSubmatch(look, -1)
	require.NotEmpty(t, used)
	for _, u := range used {
		require.True(t, known[u[1]], u[1])
	}
	require.NotContains(t, fileStyle(), "var(")
	require.Equal(t, 2, strings.Count(fileStyle(), ".pen .limit {"))
	require.NotContains(t, look, "#")
	for size, rule := range map[float64]string{labelSize: "text { font: %gpx ", tickSize: ".tick { font-size: %gpx;", headingSize: ".heading { font-size: %gpx;"} {
		require.Contains(t, look, ".pen "+fmt.Sprintf(rule, size), "labels are measured in the size in which they are drawn")
	}
}
