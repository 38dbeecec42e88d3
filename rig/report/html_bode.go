package report

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/procedure"
	"govrig/rig/report/figure"
)

// bodes draws the loop's response at each setting that was swept, light and
// heavy load in one figure.
func (r *reported) bodes() (pictures []picture, err error) {
	points := r.again.Sweep
	for len(points) > 0 {
		n := 1
		for n < len(points) && points[n].Setting.Name == points[0].Setting.Name {
			n++
		}
		p, err := r.bode(points[:n])
		if err != nil {
			return nil, err
		}
		pictures, points = append(pictures, p), points[n:]
	}
	return pictures, nil
}

// bode draws the points of one setting.
func (r *reported) bode(points []procedure.SweepPoint) (picture, error) {
	p := picture{Title: points[0].Setting.Name + ": margins of the loop, must be " + r.marginLimits(points[0].Name)}
	gain := figure.Panel{Label: "gain of the loop, dB", Height: 102, Low: -20, High: 20, Step: 20,
		Rules: []figure.Rule{{At: 0, Pen: figure.Event}}}
	phase := figure.Panel{Label: "phase, degrees", Height: 102, Low: -270, High: -90, Step: 45,
		Rules: []figure.Rule{{At: -180, Pen: figure.Event}}}
	axis := figure.Axis{Label: "frequency, Hz", Log: true, Low: math.Inf(1)}
	for i := range points {
		s := bodePoint{&points[i], figure.First + figure.Pen(i%2)}
		s.draw(&gain, &phase)
		band := s.Loop.Band
		axis.Low, axis.High = math.Min(axis.Low, band.Min/(2*math.Pi)), math.Max(axis.High, band.Max/(2*math.Pi))
		p.Notes = append(p.Notes, r.margins(s)...)
	}
	least, most := extent(gain.Curves)
	gain.Low, gain.High = math.Min(-20, 10*math.Floor(least/10)), math.Max(20, 10*math.Ceil(most/10))
	least, most = extent(phase.Curves)
	phase.Low, phase.High = math.Min(-225, 45*math.Floor(least/45)), math.Max(-90, 45*math.Ceil(most/45))
	axis.Low, axis.High = axis.Low/1.06, axis.High*1.06
	f := figure.Figure{Title: "frequency response, " + p.Title, Width: smallWidth, Axis: axis, Panels: []figure.Panel{gain, phase}}
	var err error
	p.SVG, err = f.SVG()
	return p, err
}

// bodePoint is a point with the pen that draws it.
type bodePoint struct {
	*procedure.SweepPoint
	pen figure.Pen
}

// phaseAt is the loop's phase at ω (rad/s), in degrees, between −360 and 0
// where it is that of a governor with its machine.
func (s bodePoint) phaseAt(w float64) float64 {
	phase := cmplx.Phase(s.Loop.Loop(w)) * 180 / math.Pi
	if phase > 45 {
		phase -= 360
	}
	return phase
}

// load is the name of the load.
func (s bodePoint) load() string { return s.Name[strings.LastIndex(s.Name, "_")+1:] }

func (s bodePoint) draw(gain, phase *figure.Panel) {
	const steps = 160
	low, high := s.Loop.Band.Min, s.Loop.Band.Max
	var hz, dB, degrees []float64
	for i := range steps + 1 {
		w := low * math.Pow(high/low, float64(i)/steps)
		hz = append(hz, w/(2*math.Pi))
		dB = append(dB, loop.Decibels(cmplx.Abs(s.Loop.Loop(w))))
		degrees = append(degrees, s.phaseAt(w))
	}
	gain.Curves = append(gain.Curves, figure.Curve{X: hz, Y: dB, Pen: s.pen}, s.dots(func(w float64) float64 {
		return loop.Decibels(cmplx.Abs(s.Loop.Loop(w)))
	}))
	phase.Curves = append(phase.Curves, figure.Curve{X: hz, Y: degrees, Pen: s.pen}, s.dots(s.phaseAt))
	s.mark(gain, phase)
}

// dots are the lines that were measured.
func (s bodePoint) dots(value func(w float64) float64) figure.Curve {
	c := figure.Curve{Pen: s.pen, Dots: true}
	for _, p := range s.Response {
		c.X, c.Y = append(c.X, p.Frequency), append(c.Y, value(math.Max(s.Loop.Band.Min, math.Min(s.Loop.Band.Max, p.Omega()))))
	}
	return c
}

// mark marks the margins.
func (s bodePoint) mark(gain, phase *figure.Panel) {
	lift := 19.0
	if s.pen != figure.First {
		lift = 8
	}
	add := func(p *figure.Panel, omega, from, to float64, text string) {
		f := omega / (2 * math.Pi)
		middle := math.Sqrt(s.Loop.Band.Min*s.Loop.Band.Max) / (2 * math.Pi)
		p.Marks = append(p.Marks, figure.Mark{
			X: f, Y: from, To: &[2]float64{f, to}, Lift: lift, Left: f > middle, Label: tidy(s.load() + " " + text),
		})
	}
	if at, m := s.Margins.PhaseCrossover, s.Margins.Gain; at.OK() && m.OK() {
		dB := loop.Decibels(m.Value)
		add(gain, at.Value, 0, -dB, fmt.Sprintf("%.1f dB", dB))
	}
	if at, m := s.Margins.Crossover, s.Margins.Phase; at.OK() && m.OK() {
		add(phase, at.Value, -180, m.Value-180, fmt.Sprintf("%.0f°", m.Value))
	}
}

// margins are the measures of a point, as notes.
func (r *reported) margins(p bodePoint) (notes []note) {
	phase, gain := r.run.Result.Find("phase_margin_"+p.Name), r.run.Result.Find("gain_margin_"+p.Name)
	for i, m := range []*measure.Measure{phase, gain} {
		if m == nil || m.Value == nil {
			continue
		}
		text := quantity(rounded(*m.Value), m.Unit)
		if i == 0 {
			text = p.load() + ": " + text
		}
		notes = append(notes, note{text, class(m)})
	}
	return notes
}

// marginLimits says what the margins must be.
func (r *reported) marginLimits(point string) string {
	var limits []string
	for _, name := range []string{"phase_margin_", "gain_margin_"} {
		if m := r.run.Result.Find(name + point); m != nil && m.Limit != nil {
			unit := " " + m.Unit
			if m.Unit == "°" {
				unit = m.Unit
			}
			limits = append(limits, tidy(bounds(m.Limit))+unit)
		}
	}
	return strings.Join(limits, " and ")
}
