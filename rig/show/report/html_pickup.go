package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"govrig/sim/pickup"
)

// The drawing of the pickup, px. Its ground line is where the magnet's face
// stands; up is across the gap, right is the way the magnet moves.
const (
	pickupWidth, pickupHeight = 372.0, 208.0
	pickupGround              = 122.0
	pickupFloor               = 184.0 // what is below is not shown
	pickupMiddle              = 152.0
)

// A common three-legged Hall switch, mm (makers' outline drawings, from
// memory). The machine file does not tell.
const (
	sensorWide, sensorHigh, sensorThick = 4.1, 3.0, 1.55
)

// sketch is a drawing under way; px is how many px a mm takes.
type sketch struct {
	strings.Builder
	px float64
}

func (s *sketch) add(format string, args ...any) { fmt.Fprintf(s, format, args...) }

// pickupDrawing draws magnet and sensor at the closest pass, to scale.
func pickupDrawing(p pickup.Params) template.HTML {
	mm := func(metres float64) float64 { return metres * 1e3 }
	wide, high := outline(p)
	sensorW, sensorH := sensorOutline(p.Sensor)
	s := &sketch{px: min(28, 140/math.Max(mm(wide), sensorW), 104/(mm(p.Gap)+sensorH), (pickupFloor-pickupGround-8)/mm(high))}
	s.add(`<svg class="figure drawing" viewBox="-14 0 %g %g" role="img" aria-label="Magnet and sensor at the closest pass">`, pickupWidth, pickupHeight)
	s.carrier(p, mm(high))
	s.magnet(p, mm(wide), mm(high))
	top := pickupGround - mm(p.Gap)*s.px
	s.sensor(p.Sensor, top, sensorW, sensorH)
	s.gap(p, top, math.Max(mm(wide), sensorW)/2*s.px)
	s.way()
	s.add(`</svg>`)
	return template.HTML(s.String())
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
		s.add(`<path class="part" d="M68 %g H236 V%g H68 Z"/>`, y, math.Min(y+math.Max(high*s.px+10, 30), pickupFloor))
		return
	}
	r := (p.Radius*1e3 + high/2) * s.px
	drop := r - math.Sqrt(math.Max(0, r*r-130*130))
	if r < 130 {
		drop = 60
	}
	drop = math.Min(drop, 60)
	s.add(`<path class="part" d="M24 %g Q%g %g 280 %g V%g H24 Z"/>`, y+drop, pickupMiddle, y-drop, y+drop, pickupFloor)
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
		s.add(`<rect class="pole %s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, strings.ToLower(pole), x, y, w, h)
		s.add(`<text class="letter %s" x="%.1f" y="%.1f">%s</text>`, strings.ToLower(pole), x+w/2, y+h/2+4, pole)
	}
	switch p.Axis {
	case pickup.Gapwise:
		half(x, y, w, h/2, near)
		half(x, y+h/2, w, h/2, far)
	case pickup.Travelwise:
		half(x+w/2, y, w/2, h, near)
		half(x, y, w/2, h, far)
	default:
		s.add(`<circle class="pole %s" cx="%g" cy="%.1f" r="%.1f"/>`, strings.ToLower(near), pickupMiddle, y+h/2, w/2)
		s.add(`<text class="letter %s" x="%g" y="%.1f">%s</text>`, strings.ToLower(near), pickupMiddle, y+h/2+4, near)
	}
}

// sensor draws the sensor with its printed side and the element inside.
func (s *sketch) sensor(p pickup.Sensor, bottom, wide, high float64) {
	w, h := wide*s.px, high*s.px
	x, y := pickupMiddle-w/2, bottom-h
	s.add(`<rect class="sensor" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, x, y, w, h)
	face := "toward you"
	switch p.Normal {
	case pickup.Gapwise:
		at := bottom
		if p.Back {
			at = y
		}
		s.add(`<path class="print" d="M%.1f %.1f h%.1f"/>`, x, at, w)
		face = "(thick line)"
	case pickup.Travelwise:
		at := x + w
		if p.Back {
			at = x
		}
		s.add(`<path class="print" d="M%.1f %.1f v%.1f"/>`, at, y, h)
		face = "(thick line)"
	default:
		if p.Back {
			face = "away from you"
		}
	}
	element := bottom - p.Depth*1e3*s.px
	s.add(`<path class="element" d="M%g %.1f h8 M%g %.1f v8"/>`, pickupMiddle-4, element, pickupMiddle, element-4)
	s.add(`<path class="thin" d="M%g %.1f L246 14 H252"/><text x="256" y="19">sensing element</text>`, pickupMiddle+5, element-2)
	s.add(`<text x="256" y="38">printed side</text><text x="256" y="54">%s</text>`, face)
}

// gap draws the dimension of the gap.
func (s *sketch) gap(p pickup.Params, top, half float64) {
	x := pickupMiddle - half - 26
	s.add(`<path class="thin" d="M%.1f %.1f H%.1f M%.1f %g H%.1f"/>`, x-6, top, pickupMiddle-6, x-6, pickupGround, pickupMiddle-half)
	arrow := func(y, dir float64) {
		s.add(`<path class="thin" d="M%.1f %.1f v%.1f m-3 %.1f l3 %.1f l3 %.1f"/>`, x, y+dir*14, -dir*14, dir*5, -dir*5, dir*5)
	}
	arrow(top, -1)
	arrow(pickupGround, 1)
	s.add(`<text class="end" x="%.1f" y="%.1f">gap %.3g mm</text>`, x-8, (top+pickupGround)/2+4, p.Gap*1e3)
}

// way shows which way the magnet moves.
func (s *sketch) way() {
	s.add(`<path class="way" d="M100 200 h96 m-8 -4 l8 4 l-8 4"/><text x="204" y="204">moves this way</text>`)
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
