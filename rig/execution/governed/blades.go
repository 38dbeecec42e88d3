package governed

import (
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
)

const highestHead = "highest_head_speed"

// BladesMeasures declares how fast the head turned at most, where the machine file
// tells what the blades bear.
func (g *Governor) BladesMeasures() []measure.Declaration {
	greatest := g.greatestHead()
	if greatest == 0 {
		return nil
	}
	return []measure.Declaration{{
		Name: highestHead, Unit: "rpm", Limit: measure.AtMost(greatest),
		Meaning:    "How fast the head turned at most.",
		Convention: "limit: greatest_head_speed of the machine file, which the blade maker allows",
	}}
}

// greatestHead is what the blade maker allows, rpm of the head; 0 is not known.
func (g *Governor) greatestHead() float64 {
	return float64(g.Machine.Main.GreatestHeadSpeed) * execution.RPM
}

// ReadBlades reads how fast the head turned at most in a part of the run, rpm.
func (g *Governor) ReadBlades(t *execution.Test, most float64) {
	greatest := g.greatestHead()
	if greatest == 0 {
		return
	}
	g.Take(t, highestHead, measure.Read(most))
	if sentence, beyond := finding.BeyondBlades(most, greatest); beyond {
		t.Found("%s: %s", g.Setting.Name, sentence)
		t.Next("Lower the governor's gain or the speed setting, or use blades that are made for more; no run of the bench makes blades stronger.")
	}
}
