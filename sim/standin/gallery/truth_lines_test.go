package gallery

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// truthOf is that of a member on the medium machine, at a speed and a pulse.
func truthOf(m Member, w Wiring, speed float64) Truth {
	return m.New(w, 0).Truth(m.Kind, speed, w.Closed+0.45*(w.Open-w.Closed))
}

// middle is a speed half-way between the settings, which the select line of a
// lead asks for.
func middle(w Wiring) float64 { return (w.SpeedLow + w.SpeedHigh) / 2 }

// Frame rate, jitter, missing frames and output step are what the throttle line
// shows over 40 s of passing the stick through.
func TestFramesAreAsTold(t *testing.T) {
	w := WiringOf(medium(t), tickRate)
	for _, m := range Members() {
		truth := truthOf(m, w, middle(w))
		l := newLead(m, w)
		l.stick = 0.1
		l.play(1)
		l.forget()
		for i := range 100 {
			l.stick = 0.1 + 0.001*float64(i)
			l.play(0.4)
		}
		missing, step := 0.0, truth.OutputStep*tickRate
		for i, width := range l.widths {
			if width == 0 {
				missing++
			}
			ideal := float64(l.rises[0]) + float64(i)*tickRate/truth.FrameRate
			require.InDelta(t, ideal, float64(l.rises[i]), 2*truth.Jitter*tickRate+1, m.Name)
			if step > 0 {
				require.InDelta(t, 0, math.Remainder(float64(width), step), 1, m.Name)
			}
		}
		n := float64(len(l.widths))
		require.InEpsilon(t, truth.FrameRate, (n-1)*tickRate/float64(l.rises[len(l.rises)-1]-l.rises[0]), 0.005, m.Name)
		require.InDelta(t, truth.Dropped, missing/n, 3*math.Sqrt(truth.Dropped/n)+1e-9, m.Name)
	}
}

// engages reports whether a governor, up from a low stick at a speed as it reads
// it, has the throttle do something that the stick does not.
func engages(m Member, w Wiring, stick, reads float64) bool {
	l := newLead(m, w)
	truth := truthOf(m, w, middle(w))
	l.speed = func(float64) float64 { return reads / truth.Reads }
	l.play(0.5)
	l.stick = stick
	l.play(3)
	return math.Abs(l.share()-stick) > 0.01
}

// Stick and speed from which each engages, to 1 % of the travel and of the
// speed; one that hears no pulse, or has no law, never has a say.
func TestEngagesWhereItSays(t *testing.T) {
	w := WiringOf(medium(t), tickRate)
	for _, m := range Members() {
		truth := truthOf(m, w, middle(w))
		slow := 0.9 * w.SpeedLow
		if !truth.Governs {
			require.False(t, engages(m, w, 0.95, slow), m.Name)
			continue
		}
		if !truth.Hears {
			l := newLead(m, w)
			l.speed = func(float64) float64 { return slow }
			l.stick = 0.9
			l.play(3)
			require.Zero(t, l.share(), "%s takes the pickup for lost", m.Name)
			continue
		}
		require.False(t, engages(m, w, truth.EngagesAt-0.01, slow), m.Name)
		require.True(t, engages(m, w, truth.EngagesAt+0.01, slow), m.Name)
		require.False(t, engages(m, w, truth.EngagesAt+0.05, 0.99*truth.EngagesAbove), m.Name)
		require.True(t, engages(m, w, truth.EngagesAt+0.05, 1.01*truth.EngagesAbove), m.Name)
	}
}

// Where each lets go again.
func TestDisengagesWhereItSays(t *testing.T) {
	w := WiringOf(medium(t), tickRate)
	for _, m := range Members() {
		truth := truthOf(m, w, middle(w))
		if !truth.Governs || !truth.Hears {
			continue
		}
		l := newLead(m, w)
		l.speed = func(float64) float64 { return 0.9 * w.SpeedLow / truth.Reads }
		l.play(0.5)
		l.stick = truth.EngagesAt + 0.05
		l.play(2)
		l.stick = truth.DisengagesAt + 0.01
		l.play(0.3)
		require.Greater(t, math.Abs(l.share()-l.stick), 0.01, m.Name)
		l.stick = truth.DisengagesAt - 0.01
		l.play(0.3)
		require.InDelta(t, l.stick, l.share(), 0.03, m.Name)
	}
}

// Switched off, it hears nothing and sends nothing; then it begins anew, as its
// lockout has it.
func TestRestart(t *testing.T) {
	w := WiringOf(medium(t), tickRate)
	for _, m := range Members() {
		truth := truthOf(m, w, middle(w))
		l := newLead(m, w)
		l.speed = func(float64) float64 { return 0.5 * w.SpeedLow * 0.2 } // too slow to engage at
		l.stick = 0.3
		l.play(1)
		l.g.Restart(0.5)
		l.forget()
		l.play(0.45)
		for _, width := range l.widths {
			require.Zero(t, width, m.Name)
		}
		l.play(0.5)
		want := 0.3
		if truth.SwitchedOnStickUp.Does == Closes {
			want = 0
		}
		require.InDelta(t, want, l.share(), 0.03, m.Name)
	}
}
