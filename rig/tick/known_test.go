package tick

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/physic"
)

// A clock is known from the first three seconds on, and no sooner; that it is beyond
// doubt wrong is not said sooner either. The newest window of 1/16 s is not full yet: of
// 3.1 s there are just 3 s between the first and the last.
func TestKnownFromThreeSecondsOn(t *testing.T) {
	for seconds, known := range map[float64]bool{1: false, 2.9: false, 3.06: false, 3.1: true, 10: true} {
		_, _, ok := seen(seconds, 0.004, none, none).Estimate()
		require.Equal(t, known, ok, "%v s", seconds)
		require.NoError(t, seen(seconds, 0.004, none, none).Doubt())
		doubt := seen(seconds, 0.1, none, none).Doubt()
		require.Equal(t, known, doubt != nil, "%v s", seconds)
	}
}

// No board's clock is more than 2 % off, either way: up to there it is known and
// without doubt, beyond it is not known, and is told with its sign.
func TestClockTooFarOff(t *testing.T) {
	for _, fast := range []float64{-0.0195, 0.0195, 0} {
		got, _, ok := seen(6, fast, none, none).Estimate()
		require.True(t, ok, "%v", fast)
		require.InDelta(t, fast, got, 1e-6)
		require.NoError(t, seen(6, fast, none, none).Doubt())
	}
	for fast, says := range map[float64]string{-0.0213: "-2.1 % off", 0.0213: "+2.1 % off"} {
		_, _, ok := seen(6, fast, none, none).Estimate()
		require.False(t, ok, "%v", fast)
		c := seen(6, fast, none, none)
		require.ErrorContains(t, c.Doubt(), says)
		low, high, ok := c.Bounds()
		require.True(t, ok)
		require.True(t, Wrong(low, high))
	}
}

// Bounds that touch the limit say neither that a clock is wrong nor that it is right;
// a clock is believed where it is known better than it is large.
func TestBoundsAtTheLimit(t *testing.T) {
	for _, b := range [][2]float64{{0.02, 0.03}, {-0.03, -0.02}, {0.01, 0.02}, {-0.02, 0.01}} {
		require.False(t, Wrong(b[0], b[1]), "%v", b)
	}
	require.True(t, Right(-0.0199, 0.0199))
	require.False(t, Right(-0.02, 0.01))
	require.False(t, Right(0.01, 0.02))
	require.Zero(t, Believed(0.004, 0.004))
	require.Equal(t, 0.02, Believed(0.02, 0.001))
	require.Zero(t, Believed(0.0201, 0.001))
}

// Delays that scatter too much leave the clock unknown, which is no reason for doubt;
// where it is known, it is to better than a thousandth.
func TestScatteredDelays(t *testing.T) {
	for scatter, known := range map[float64]bool{0.0002: true, 0.05: false} {
		random := rand.New(rand.NewPCG(3, 4))
		held := 0. // for a second at a time, so that no frame of a window comes soon
		c := seen(6, 0.001, func(t float64) float64 {
			if random.IntN(100) == 0 {
				held = scatter * random.Float64()
			}
			return held
		}, none)
		low, high, seen := c.Bounds()
		require.True(t, seen)
		_, uncertainty, ok := c.Estimate()
		require.Equal(t, known, ok, "%v s: %v to %v", scatter, low, high)
		require.LessOrEqual(t, uncertainty, knownError)
		require.Equal(t, known, high-low <= 2*knownError)
	}
}

// Nine points half a second apart about a line of slope 0.003, the middle one 2 ms
// and its neighbours 1 ms off: least squares by hand. Evenly spread points of
// spacing d are as long as d·√(n²−1) there.
func TestFitByHand(t *testing.T) {
	off := []float64{0, 0, 0, -0.001, 0.002, -0.001, 0, 0, 0}
	var piece []window
	for i, o := range off {
		at := 0.5 * float64(i)
		piece = append(piece, window{int64(i), at, 7 + 0.003*at + o})
	}
	l, ok := fit([][]window{piece}, 0.002)
	require.True(t, ok)
	require.InDelta(t, 0.003, l.slope, 1e-12)
	require.InDelta(t, 3*0.003/(0.5*math.Sqrt(80)), l.uncertainty, 1e-12)
	require.Equal(t, 9, l.count)
	require.InDelta(t, 1/1.003-1, l.fast(), 1e-12)

	l, ok = fit([][]window{piece[:3]}, 0.002) // exactly on the line: the spacing counts
	require.True(t, ok)
	require.InDelta(t, 0.002/(0.5*math.Sqrt(8)), l.uncertainty, 1e-9)

	step := append([]window{}, piece...)
	for i := range step {
		step[i].delay += 5
	}
	l, ok = fit([][]window{piece, step}, 0.002) // an offset of its own for each piece
	require.True(t, ok)
	require.InDelta(t, 0.003, l.slope, 1e-12)
	require.Equal(t, 18, l.count)

	_, ok = fit([][]window{piece[:1]}, 0.002)
	require.False(t, ok, "one point has no slope")
}

// Windows of any length hold the frame that took least of all in them: each is
// found again among the frames themselves.
func TestWindowsHoldTheQuickestFrames(t *testing.T) {
	for _, seconds := range []float64{2, 4, 5, 31, 200} {
		random := rand.New(rand.NewPCG(5, 6))
		c := &ClockError{Rate: 16 * physic.MegaHertz}
		least := map[int64]float64{}
		length := shortest
		for length*windowsMax < seconds {
			length *= 2
		}
		const first = 1_000_000 // ticks: the board has been on for a while
		for i := range int(seconds * 500) {
			at := float64(i) * 0.002
			delay := 0.01 * random.Float64()
			c.Add(first+int64(i)*32_000, time.Duration((at+delay)*1e9))
			k := int64(at / length)
			if was, ok := least[k]; !ok || delay < was {
				least[k] = delay
			}
		}
		require.Equal(t, length, c.length)
		require.Len(t, c.windows, len(least))
		require.LessOrEqual(t, len(c.windows), windowsMax)
		for i, w := range c.windows {
			require.EqualValues(t, i, w.number)
			require.InDelta(t, least[w.number], w.delay, 2e-9)
			require.Equal(t, w.number, int64(w.at/length))
		}
	}
}

// Pieces end where a delay steps, with the window before the step; those of fewer
// than four windows are left out.
func TestPieces(t *testing.T) {
	var all []window
	delay := func(i int) float64 {
		switch {
		case i < 10:
			return 0
		case i < 13:
			return 0.5
		case i < 17:
			return 1
		}
		return 0.2
	}
	for i := range 30 {
		all = append(all, window{int64(i), float64(i), delay(i) + 1e-5*float64(i%2)})
	}
	got := pieces(all, 0.002)
	require.Len(t, got, 3)
	for k, ends := range [][2]int64{{0, 9}, {13, 16}, {17, 29}} {
		require.Equal(t, ends[0], got[k][0].number)
		require.Equal(t, ends[1], got[k][len(got[k])-1].number)
	}
	require.Empty(t, pieces(all[:3], 0.002))
	require.Len(t, pieces(all[:4], 0.002), 1)
}

// A count half a wrap ahead is taken as ahead up to one tick less, and as behind from
// there on (two's complement).
func TestExtendHalfAWrap(t *testing.T) {
	var e Extender
	require.EqualValues(t, 10, e.Extend(10))
	require.EqualValues(t, 10+1<<31-1, e.Extend(10+1<<31-1))
	e = Extender{}
	e.Extend(10)
	require.EqualValues(t, 10-1<<31, e.Extend(10+1<<31))
}

// What counts is from the first frame that came soon: one that was late at the start
// shortens the span.
func TestSpanBeginsWithTheFirstWindow(t *testing.T) {
	late := func(t float64) float64 { return math.Max(0, 0.04-t) }
	_, _, ok := seen(3.1, 0, late, none).Estimate()
	require.False(t, ok)
	_, _, ok = seen(3.2, 0, late, none).Estimate()
	require.True(t, ok)
}

// Six full windows of 1/16 s show something, five do not.
func TestFewestWindows(t *testing.T) {
	_, _, ok := seen(0.37, 0, none, none).Bounds()
	require.False(t, ok)
	low, high, ok := seen(0.4, 0, none, none).Bounds()
	require.True(t, ok)
	require.InDelta(t, 0, (low+high)/2, 1e-9)
}

// A clock that may still be a board's by its bounds is no reason for doubt, though
// the middle of them is beyond.
func TestDoubtOnlyBeyondTheBounds(t *testing.T) {
	doubted := map[bool]int{}
	for seed := range uint64(40) {
		random := rand.New(rand.NewPCG(seed, 9))
		held := 0.
		c := seen(6, 0.0202, func(float64) float64 {
			if random.IntN(60) == 0 {
				held = 0.002 * random.Float64()
			}
			return held
		}, none)
		d, ok := c.drift()
		if low, high, _ := c.Bounds(); ok && d.agreed {
			wrong := low > worstClock || high < -worstClock
			doubted[wrong]++
			require.Equal(t, wrong, c.Doubt() != nil, "%v to %v", low, high)
		}
	}
	require.Greater(t, doubted[false], 3)
}

// Where the host stands still again and again for half of the run, no drift is known
// of the whole, and that is told.
func TestHalfOfTheRunUnsteady(t *testing.T) {
	jumps := func(t float64) float64 {
		return 0.05 * math.Max(0, math.Floor((t-10)/0.7)) * math.Mod(math.Floor(t/0.7), 3)
	}
	c := seen(20, 0, none, jumps)
	_, _, ok := c.Estimate()
	require.False(t, ok)
	require.ErrorContains(t, c.Doubt(), "changed in the run")
}

// A steady drift of one and a half per cent is one piece, wherever in the run.
func TestSteadyDriftIsOnePiece(t *testing.T) {
	var all []window
	for i := range 40 {
		at := 0.5 + 2*float64(i)
		all = append(all, window{int64(i), at, 3 + 0.015*at})
	}
	require.Len(t, pieces(all, 0.002), 1)
	require.Len(t, pieces(all, 0.002)[0], 40)
	for i := range all[20:] { // and a step in it is still seen
		all[20+i].delay += 0.1
	}
	require.Len(t, pieces(all, 0.002), 2)
	require.Len(t, pieces(all, 0.002)[0], 20)
}

// Of two frames that took as long the window keeps the first.
func TestWindowKeepsTheFirstOfEquals(t *testing.T) {
	first := window{0, 0.01, 0.5}
	require.Equal(t, []window{first}, joined([]window{first}, window{0, 0.02, 0.5}))
	require.Equal(t, []window{{0, 0.02, 0.4}}, joined([]window{first}, window{0, 0.02, 0.4}))
	require.Len(t, joined([]window{first}, window{1, 0.02, 0.9}), 2)
}
