package report

import (
	"html/template"
	"math"
	"strconv"

	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/pen"
)

// picture is a figure with its caption.
type picture struct {
	Title string
	Notes []note
	SVG   template.HTML
	Wide  bool
	Minor bool // left out of a print
}

// note is one finding in a caption.
type note struct {
	Text string
	Mark string // an outcome's class, or nothing
}

const (
	smallWidth, wideWidth = 290, 760 // px
	speedHeight           = 95
	throttleHeight        = 47
	alpha                 = 2.0 // %, full width: the tolerance band in which a load step counts as recovered
)

// picture draws the clip.
func (r *reported) picture(c *clip) picture {
	p := picture{Title: c.title, Notes: r.notes(c), Wide: c.kind == whole, Minor: c.kind == flight}
	if c.setting.Name != "" {
		p.Title = c.setting.Name + ": " + c.title
	}
	speed := r.speedPanel(c)
	f := pen.Figure{
		Title: r.rec.Info.Procedure + ", " + p.Title, Width: smallWidth,
		Axis:   pen.Axis{Label: c.axis(), Low: c.from - c.event, High: c.to - c.event},
		Panels: []pen.Panel{speed},
	}
	if p.Wide {
		f.Width = wideWidth
	}
	if throttle, ok := r.throttlePanel(c); ok {
		f.Panels = append(f.Panels, throttle)
	}
	p.SVG = f.Draw().HTML()
	return p
}

func (c *clip) axis() string {
	switch c.kind {
	case loadOn, loadOff:
		return "seconds from the load change"
	case spool:
		return "seconds from the start"
	case whole:
		return "seconds of the run"
	}
	return "seconds"
}

// speedPanel draws the head speed with what it must keep to.
func (r *reported) speedPanel(c *clip) pen.Panel {
	p := pen.Panel{Label: "head speed, rpm", Height: speedHeight}
	x, y := c.head.Curve()
	p.Curves = []pen.Curve{{X: x, Y: y, Stroke: pen.First}}
	if c.kind == spool || c.kind == whole {
		ex, ey := c.engine.Curve()
		p.Label = "rpm at the head"
		p.Curves = append([]pen.Curve{{X: ex, Y: ey, Stroke: pen.Second}}, p.Curves...)
	}
	least, most, _ := pen.Extent(p.Curves)
	if wanted := float64(c.setting.HeadSpeed) * rpm; wanted > 0 {
		p.Rules = append(p.Rules, pen.Rule{At: wanted, Stroke: pen.Wanted})
		p.Zones = c.zones(wanted)
		least, most = math.Min(least, wanted), math.Max(most, wanted)
		for _, z := range p.Zones {
			least, most = z.Reach(least, most)
		}
		p.Marks = append(p.Marks, c.extreme(x, y)...)
	}
	for i, at := range c.faults {
		p.Marks = append(p.Marks, pen.Mark{X: at, Y: most, Label: strconv.Itoa(i + 1), Above: true})
		p.Rules = append(p.Rules, pen.Rule{At: at, Upright: true, Stroke: pen.Event})
	}
	room := 0.06 * math.Max(most-least, 0.004*most)
	p.Low, p.High = least-room, most+room
	if len(c.faults) > 0 { // their numbers stand on top
		p.High += 2 * room
	}
	return p
}

// zones are the ground that the speed, rpm, must keep off by the limits of the
// setting: in the vocabulary of ISO 8528-5, the steady-state speed band before
// a load change, the transient speed deviation after it, and the tolerance band
// about the new speed once the recovery time is over.
func (c *clip) zones(wanted float64) (zones []pen.Zone) {
	limits := c.setting.Limits
	inf := math.Inf(1)
	start := 0.0
	if c.kind == flight || c.kind == spool {
		start = -inf
	}
	if limits.Dip != nil && (c.kind == loadOn || c.kind == flight) {
		end := inf
		if c.kind == flight {
			end = c.overload
		}
		zones = append(zones, pen.Zone{X0: start, X1: end, Y0: -inf, Y1: wanted * (1 - float64(*limits.Dip))})
	}
	if limits.Overshoot != nil && (c.kind == loadOff || c.kind == flight || c.kind == spool) {
		zones = append(zones, pen.Zone{X0: start, X1: inf, Y0: wanted * (1 + float64(*limits.Overshoot)), Y1: inf})
	}
	switch c.kind {
	case loadOn, loadOff:
		zones = append(zones, c.afterwards(wanted)...)
	case held:
		zones = append(zones, c.band(wanted)...)
	}
	return zones
}

// band is the ground beyond the steady-state speed band, about the mean of the
// first phase, while that lasts.
func (c *clip) band(wanted float64) []pen.Zone {
	x, y := c.head.Kept()
	mean := step.MeanSpeed(measure.Series{T: x, Y: y}.Between(0, c.steady))
	if c.setting.Limits.Band == nil || !mean.OK() {
		return nil
	}
	return beyond(0, c.steady, mean.Value, wanted*float64(*c.setting.Limits.Band)/2)
}

// beyond is the ground on both sides of a band.
func beyond(from, to, middle, half float64) []pen.Zone {
	inf := math.Inf(1)
	return []pen.Zone{
		{X0: from, X1: to, Y0: middle + half, Y1: inf},
		{X0: from, X1: to, Y0: -inf, Y1: middle - half},
	}
}

// afterwards are the zones that depend on how the speed stood before and
// stands at the end.
func (c *clip) afterwards(wanted float64) (zones []pen.Zone) {
	inf := math.Inf(1)
	x, y := c.head.Kept()
	load := step.AnalyseLoad(measure.Series{T: x, Y: y}, step.LoadConfig{
		Windows: step.Windows{Event: 0, Before: lead}, Declared: wanted, Tolerance: alpha,
	})
	limits := c.setting.Limits
	if band := limits.Band; band != nil && load.Initial.OK() {
		zones = append(zones, beyond(-inf, 0, load.Initial.Value, wanted*float64(*band)/2)...)
	}
	if limits.RecoveryTime != nil && load.Final.OK() {
		from := float64(*limits.RecoveryTime)
		if load.Exit.OK() {
			from += load.Exit.Value
		}
		zones = append(zones, beyond(from, inf, load.Final.Value, wanted*alpha/200)...)
	}
	return zones
}

// extreme marks the bottom of a dip or the top of a rise.
func (c *clip) extreme(x, y []float64) []pen.Mark {
	if c.kind != loadOn && c.kind != loadOff || len(y) == 0 {
		return nil
	}
	best := -1
	for i := range y {
		if x[i] >= 0 && (best < 0 || (y[i] < y[best]) == (c.kind == loadOn) && y[i] != y[best]) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	return []pen.Mark{{X: x[best], Y: y[best], Ring: true}}
}

// throttlePanel draws the throttle; ok is false where no pulse came.
func (r *reported) throttlePanel(c *clip) (p pen.Panel, ok bool) {
	x, y := c.throttle.Curve()
	if len(y) == 0 {
		return p, false
	}
	p = pen.Panel{Label: "throttle pulse, µs", Height: throttleHeight}
	if r.m != nil {
		closed, open := float64(r.m.Servo.ClosedPulse)*1e6, float64(r.m.Servo.OpenPulse)*1e6
		for i := range y {
			y[i] = 100 * (y[i] - closed) / (open - closed)
		}
		p.Label, p.Low, p.High, p.Step = "throttle, % of servo travel", -6, 106, 50
	}
	p.Curves = []pen.Curve{{X: x, Y: y, Stroke: pen.First}}
	least, most, _ := pen.Extent(p.Curves)
	if r.m == nil {
		p.Low, p.High = least-10, most+10
	} else {
		p.Low, p.High = math.Min(p.Low, least-2), math.Max(p.High, most+2)
	}
	return p, true
}

// notes are the measures that the clip shows.
func (r *reported) notes(c *clip) (notes []note) {
	switch c.kind {
	case loadOn:
		return r.noted(c, "dip", measure.Key{What: "transient_deviation", Moment: measure.LoadOn}, "recovery", measure.Key{What: "recovery_time", Moment: measure.LoadOn})
	case loadOff:
		return r.noted(c, "rise", measure.Key{What: "transient_deviation", Moment: measure.LoadOff}, "recovery", measure.Key{What: "recovery_time", Moment: measure.LoadOff})
	case flight:
		return r.noted(c, "worst dip", measure.Key{What: "flight_worst_dip"}, "worst rise", measure.Key{What: "flight_worst_rise"}, "after overload", measure.Key{What: "overload_overshoot"})
	case held:
		return r.noted(c, "band", measure.Key{What: "steady_state_speed_band"}, "droop", measure.Key{What: "speed_droop"}, "swing", measure.Key{What: "hunting_swing"})
	case spool:
		return r.noted(c, "time", measure.Key{What: "spool_up_time"}, "overshoot", measure.Key{What: "spool_up_overshoot"})
	}
	return nil
}

// noted takes words and keys in turn.
func (r *reported) noted(c *clip, pairs ...any) (notes []note) {
	for i := 0; i < len(pairs); i += 2 {
		words, key := pairs[i].(string), pairs[i+1].(measure.Key)
		key.Setting = c.setting.Name
		m := r.run.Result.Get(key)
		if m == nil {
			continue
		}
		if m.Value == nil {
			notes = append(notes, note{words + " not measured", class(m)})
			continue
		}
		notes = append(notes, note{words + " " + limited(m), class(m)})
	}
	return notes
}
