package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"govrig/rig/identification"
	"govrig/rig/pen"
)

// governorPart is what governor it is, on the page.
type governorPart struct {
	Kind     string
	Doubts   []string
	Rows     [][2]string // of what is known, and how sure
	Pictures []picture
	Proof    []string
	Legend   []legend
	Minor    bool // left out of a print
}

// governorPart lays out what was identified; nil where nothing was.
func (d *Document) governorPart() *governorPart {
	r := d.Governor
	if r == nil || r.Fit == nil && len(r.Doubts) == 0 {
		return nil
	}
	p := &governorPart{Kind: r.Kind, Doubts: sentences(r.Doubts), Proof: sentences(r.Differs)}
	p.Minor = len(d.runs) > crowd && len(r.Differs) == 0
	for _, e := range r.Model.Entries() {
		if e.Known {
			text := e.Text(e.Value, 4)
			if e.Uncertainty > 0 {
				text += " ± " + e.Text(e.Uncertainty, 2)
			}
			p.Rows = append(p.Rows, [2]string{e.Name(), text})
		}
	}
	for i := range r.Proof {
		p.Pictures = append(p.Pictures, proofPicture(&r.Proof[i]))
	}
	if len(r.Proof) > 0 {
		p.Legend = []legend{{pen.First.Swatch().HTML(), "measured"}, {pen.Second.Swatch().HTML(), "predicted from its answer over frequency"}}
		if len(r.Differs) == 0 {
			p.Proof = append(p.Proof, "The load steps that its law predicts are those that were measured, within what both are uncertain by.")
		}
	}
	return p
}

// sentences makes sentences of what was noted.
func sentences(notes []string) []string {
	all := minus(notes)
	for i, text := range all {
		all[i] = strings.ToUpper(text[:1]) + text[1:] + "."
	}
	return all
}

// proofPicture draws the load step that the law predicts over the one that was
// measured.
func proofPicture(s *identification.Step) picture {
	panel := pen.Panel{Label: "head speed, rpm", Height: speedHeight, Curves: []pen.Curve{
		{X: s.Time, Y: s.PredictedHead, Stroke: pen.Second}, {X: s.Time, Y: s.MeasuredHead, Stroke: pen.First},
	}}
	least, most, _ := pen.Extent(panel.Curves)
	room := 0.06 * math.Max(most-least, 0.004*most)
	panel.Low, panel.High = least-room, most+room
	p := picture{Title: s.Setting + ": load on, measured and predicted", Minor: true, Notes: []note{
		{fmt.Sprintf("dip %.1f %%, predicted %.1f %%", -s.Measured.Deviation, -s.Predicted.Deviation), ""},
		{fmt.Sprintf("back after %.2f s, predicted %.2f s", s.Measured.Recovery, s.Predicted.Recovery), ""},
	}}
	f := pen.Figure{
		Title: p.Title, Width: smallWidth, Panels: []pen.Panel{panel},
		Axis: pen.Axis{Label: "seconds from the load", Low: 0, High: s.Time[len(s.Time)-1]},
	}
	p.SVG = template.HTML(f.Draw().HTML())
	return p
}
