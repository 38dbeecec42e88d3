package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"govrig/rig/pen"
	"govrig/sim/pickup"
)

// The drawing of the pickup, px. Its ground line is where the magnet's face
// stands; up is across the gap, right is the way the magnet moves.
const (
	pickupWidth, pickupHeight = 372.0, 208.0
	pickupGround              = 122.0
	pickupFloor               = 184.0 // what is below is not shown
	pickupMiddle              = 166.0
)

// A common three-legged Hall switch, mm (makers' outline drawings, from
// memory). The machine file does not tell.
const (
	sensorWide, sensorHigh, sensorThick = 4.1, 3.0, 1.55
)

// sketch is a drawing under way; px is how many px a mm takes.
type sketch struct {
	*pen.Canvas
	px float64
}

// pickupDrawing draws magnet and sensor at the closest pass, to scale.
func pickupDrawing(p pickup.Params) template.HTML {
	mm := func(metres float64) float64 { return metres * 1e3 }
	wide, high := outline(p)
	sensorW, sensorH := sensorOutline(p.Sensor)
	s := &sketch{
		Canvas: pen.New(pickupWidth, pickupHeight, "Magnet and sensor at the closest pass",
			fmt.Sprintf("The magnet, %.3g mm wide and %.3g mm high, moves to the right below the sensor; the gap is %.3g mm.", mm(wide), mm(high), mm(p.Gap))),
		px: min(28, 140/math.Max(mm(wide), sensorW), 104/(mm(p.Gap)+sensorH), (pickupFloor-pickupGround-8)/mm(high)),
	}
	s.carrier(p, mm(high))
	s.magnet(p, mm(wide), mm(high))
	top := pickupGround - mm(p.Gap)*s.px
	s.sensor(p.Sensor, top, sensorW, sensorH)
	s.gap(p, top, math.Max(mm(wide), sensorW)/2*s.px)
	s.way()
	return s.HTML()
}

// outline is the magnet's size in the drawing, m.
func outline(p pickup.Params) (wide, high float64) {
	m := p.Magnet
	switch p.Axis {
	case pickup.Gapwise:
		return m.Diameter, m.Length
	case pickup.Travelwise:
		return m.Length, m.Diameter
	}
	return m.Diameter, m.Diameter
}

// sensorOutline is the sensor's size in the drawing, mm.
func sensorOutline(s pickup.Sensor) (wide, high float64) {
	switch s.Normal {
	case pickup.Gapwise:
		return sensorWide, sensorThick
	case pickup.Travelwise:
		return sensorThick, sensorHigh
	}
	return sensorWide, sensorHigh
}

// carrier draws what carries the magnet: a rim that bends away, or a flat disc.
func (s *sketch) carrier(p pickup.Params, high float64) {
	y := pickupGround
	if p.Placement == pickup.Face {
		s.Rect("part", pickupMiddle-84, y, 168, math.Min(math.Max(high*s.px+10, 30), pickupFloor-y))
		return
	}
	r := (p.Radius*1e3 + high/2) * s.px
	drop := r - math.Sqrt(math.Max(0, r*r-130*130))
	if r < 130 {
		drop = 60
	}
	drop = math.Min(drop, 60)
	s.Path("part", fmt.Sprintf("M%g %.1fQ%g %.1f %g %.1fV%gH%gZ",
		pickupMiddle-128, y+drop, pickupMiddle, y-drop, pickupMiddle+128, y+drop, pickupFloor, pickupMiddle-128))
}

// magnet draws the magnet with the letter of each pole; the north half is
// filled.
func (s *sketch) magnet(p pickup.Params, wide, high float64) {
	w, h := wide*s.px, high*s.px
	x, y := pickupMiddle-w/2, pickupGround
	near, far := "N", "S"
	if p.Pole == pickup.South {
		near, far = "S", "N"
	}
	half := func(x, y, w, h float64, pole string) {
		s.Rect("pole "+strings.ToLower(pole), x, y, w, h)
		s.letter(x+w/2, y+h/2, pole)
	}
	switch p.Axis {
	case pickup.Gapwise:
		half(x, y, w, h/2, near)
		half(x, y+h/2, w, h/2, far)
	case pickup.Travelwise:
		half(x+w/2, y, w/2, h, near)
		half(x, y, w/2, h, far)
	default:
		s.Circle("pole "+strings.ToLower(near), pickupMiddle, y+h/2, w/2)
		s.letter(pickupMiddle, y+h/2, near)
	}
}

// letter names a pole in its middle.
func (s *sketch) letter(x, y float64, pole string) {
	class := "note strong middle"
	if pole == "N" {
		class += " on"
	}
	s.Text(class, x, y+4, pole)
}

// sensor draws the sensor with its branded face and the element inside.
func (s *sketch) sensor(p pickup.Sensor, bottom, wide, high float64) {
	w, h := wide*s.px, high*s.px
	x, y := pickupMiddle-w/2, bottom-h
	s.Rect("sensor", x, y, w, h)
	face := "(thick line)"
	switch {
	case p.Normal == pickup.Gapwise && p.Back:
		s.Line("print", x, y, x+w, y)
	case p.Normal == pickup.Gapwise:
		s.Line("print", x, bottom, x+w, bottom)
	case p.Normal == pickup.Travelwise && p.Back:
		s.Line("print", x, y, x, bottom)
	case p.Normal == pickup.Travelwise:
		s.Line("print", x+w, y, x+w, bottom)
	case p.Back:
		face = "away from you"
	default:
		face = "toward you"
	}
	element := bottom - p.Depth*1e3*s.px
	s.Line("element", pickupMiddle-4, element, pickupMiddle+4, element)
	s.Line("element", pickupMiddle, element-4, pickupMiddle, element+4)
	s.Line("thin", pickupMiddle+5, element-2, 260, 14, 266, 14)
	s.Text("note", 270, 19, "sensing element")
	s.Text("note", 270, 38, "branded face")
	s.Text("note", 270, 54, face)
}

// gap draws the dimension of the gap.
func (s *sketch) gap(p pickup.Params, top, half float64) {
	x := pickupMiddle - half - 26
	s.Line("thin", x-6, top, pickupMiddle-6, top)
	s.Line("thin", x-6, pickupGround, pickupMiddle-half, pickupGround)
	arrow := func(y, way float64) {
		s.Line("thin", x, y+way*14, x, y)
		s.Line("thin", x-3, y+way*5, x, y, x+3, y+way*5)
	}
	arrow(top, -1)
	arrow(pickupGround, 1)
	s.Text("note end", x-8, (top+pickupGround)/2+4, fmt.Sprintf("gap %.3g mm", p.Gap*1e3))
}

// way shows which way the magnet moves.
func (s *sketch) way() {
	s.Line("way", 114, 200, 210, 200)
	s.Line("way", 202, 196, 210, 200, 202, 204)
	s.Text("note", 218, 204, "moves this way")
}

// magnetWords tell of the magnet what the drawing cannot show.
func magnetWords(p pickup.Params) string {
	where := "rim"
	if p.Placement == pickup.Face {
		where = "face"
	}
	text := fmt.Sprintf("Ø %.3g × %.3g mm, %d on the %s, radius %.3g mm", p.Magnet.Diameter*1e3, p.Magnet.Length*1e3, p.Count, where, p.Radius*1e3)
	if p.Offset != 0 {
		text += fmt.Sprintf(", %.3g mm beside the path", math.Abs(p.Offset)*1e3)
	}
	return text
}
