package execution

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// A short run is kept as it is.
func TestCourseOfAShortRun(t *testing.T) {
	var c Course
	for i := range 1000 {
		c.Add(float64(i)*0.002, float64(1500+i%7), i/100)
	}
	require.Len(t, c.Time, 1000)
	require.Equal(t, 1503.0, c.Head[3])
	require.Equal(t, 9, c.Phase[999])
}

// Six hours at 500 a second, with dips and peaks of one sample drawn by lot: no more
// points than are allowed, in order, at even distances, and every dip and peak there.
func TestCourseOfALongRun(t *testing.T) {
	random := rand.New(rand.NewPCG(14, 2))
	const samples = 6 * 3600 * 500
	spikes := map[int]float64{}
	for len(spikes) < 200 {
		spikes[random.IntN(samples)] = 1500 + 400*(random.Float64()-0.5) + math.Copysign(50, random.Float64()-0.5)
	}
	var c Course
	for i := range samples {
		head, ok := spikes[i]
		if !ok {
			head = 1500 + 5*math.Sin(float64(i)/3000)
		}
		c.Add(float64(i)*0.002, head, i/1000)
	}
	require.LessOrEqual(t, len(c.Time), mostPoints)
	require.Greater(t, len(c.Time), mostPoints/2-2)
	require.Len(t, c.Head, len(c.Time))
	even := c.Time[len(c.Time)-1] / float64(len(c.Time))
	seen := 0
	for i, at := range c.Time {
		require.Equal(t, int(math.Round(at*500))/1000, c.Phase[i])
		require.InDelta(t, even*float64(i), at, 3*even)
		if i > 0 {
			require.Greater(t, at, c.Time[i-1])
		}
		if v, ok := spikes[int(math.Round(at*500))]; ok && v == c.Head[i] {
			seen++
		}
	}
	require.Greater(t, seen, 180) // two dips in one stretch show the deeper
}

// What is forgotten is gone for whoever looks later; who has it keeps it.
func TestTraceForgets(t *testing.T) {
	var trace Trace
	add := func(n int) {
		for range n {
			at := float64(trace.Mark().samples) * 0.002
			trace.Time, trace.Speed = append(trace.Time, at), append(trace.Speed, 100*at)
			trace.Played, trace.Head, trace.Throttle = append(trace.Played, 0), append(trace.Head, 0), append(trace.Throttle, 0)
			trace.Collective, trace.Phase = append(trace.Collective, 0), append(trace.Phase, 0)
			trace.Pulses, trace.Sent = append(trace.Pulses, Pulse{Start: at}), append(trace.Sent, at)
		}
	}
	add(10)
	early := trace.Mark()
	add(20)
	kept := trace.Since(early)
	trace.Forget()
	late := trace.Mark()
	add(5)
	require.Len(t, kept.Time, 20)
	require.InDelta(t, 0.02, kept.Time[0], 1e-12)
	for _, part := range []Trace{trace.Since(early), trace.Since(late)} {
		require.Len(t, part.Time, 5)
		require.Len(t, part.Pulses, 5)
		require.Len(t, part.Sent, 5)
		require.InDelta(t, 0.06, part.Time[0], 1e-12)
	}
	add(5)
	require.Len(t, trace.Since(late).Speed, 10)
}
