package report

import (
	"html/template"
	"math"

	"govrig/rig/pen"
	"govrig/rig/runlog"
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
)

// picture draws the view.
func (r *reported) picture(v *view) picture {
	p := picture{Title: v.Title, Notes: r.notes(v.Notes), Wide: v.Wide, Minor: v.Minor}
	if v.Setting != "" {
		p.Title = v.Setting + ": " + v.Title
	}
	f := pen.Figure{
		Title: r.rec.Info.Procedure + ", " + p.Title, Width: smallWidth,
		Axis:   pen.Axis{Label: v.Axis, Low: v.From - v.Origin, High: v.To - v.Origin},
		Panels: []pen.Panel{v.speedPanel()},
	}
	if p.Wide {
		f.Width = wideWidth
	}
	if throttle, ok := r.throttlePanel(v); ok {
		f.Panels = append(f.Panels, throttle)
	}
	p.SVG = f.Draw().HTML()
	return p
}

// speedPanel draws the head speed with what it must keep to.
func (v *view) speedPanel() pen.Panel {
	p := pen.Panel{Label: "head speed, rpm", Height: speedHeight}
	x, y := v.head.Curve()
	p.Curves = []pen.Curve{{X: x, Y: y, Stroke: pen.First}}
	if v.Engine {
		ex, ey := v.engine.Curve()
		p.Label = "rpm at the head"
		p.Curves = append([]pen.Curve{{X: ex, Y: ey, Stroke: pen.Second}}, p.Curves...)
	}
	least, most, _ := pen.Extent(p.Curves)
	if v.Wanted > 0 {
		p.Rules = append(p.Rules, pen.Rule{At: v.Wanted, Stroke: pen.Wanted})
		least, most = math.Min(least, v.Wanted), math.Max(most, v.Wanted)
	}
	for _, g := range v.Beyond {
		z := zone(g)
		p.Zones = append(p.Zones, z)
		least, most = z.Reach(least, most)
	}
	room := 0.06 * math.Max(most-least, 0.004*most)
	p.Low, p.High = least-room, most+room
	for _, m := range v.Marks {
		if m.Label == "" {
			p.Marks = append(p.Marks, pen.Mark{X: m.At, Y: m.Speed, Ring: true})
			continue
		}
		p.Marks = append(p.Marks, pen.Mark{X: m.At, Y: most, Label: m.Label, Above: true})
		p.Rules = append(p.Rules, pen.Rule{At: m.At, Upright: true, Stroke: pen.Event})
		p.High = most + 3*room // the labels stand on top
	}
	return p
}

// zone is the ground that a speed had to keep off, as the pen has it.
func zone(g runlog.Ground) pen.Zone {
	end := func(v *float64, sign int) float64 {
		if v == nil {
			return math.Inf(sign)
		}
		return *v
	}
	return pen.Zone{X0: end(g.From, -1), X1: end(g.To, 1), Y0: end(g.Low, -1), Y1: end(g.High, 1)}
}

// throttlePanel draws the throttle; ok is false where no pulse came.
func (r *reported) throttlePanel(c *view) (p pen.Panel, ok bool) {
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

// notes are the measures that a view shows.
func (r *reported) notes(wanted []runlog.Note) (notes []note) {
	for _, n := range wanted {
		m := r.run.Result.Get(n.Key)
		if m == nil {
			continue
		}
		if m.Value == nil {
			notes = append(notes, note{n.Word + " not measured", class(m)})
			continue
		}
		notes = append(notes, note{n.Word + " " + limited(m), class(m)})
	}
	return notes
}
