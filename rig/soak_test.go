//go:build soak && linux

package rig_test

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

// The soak: hours of board time in one session, with the record kept as in any
// run and begun anew from time to time. Nothing may grow from the first stretch
// on, and the last stretch must govern as the first did.
//
//	go test -tags soak -run Soak -v -timeout 0 ./rig

const (
	soakStep  = 4_000 // ticks of a plant step
	soakCycle = 30    // s of load on and load off
)

func TestSoakVirtual(t *testing.T) {
	m := soakMachine(t)
	soak(t, m, board.New(board.Options{Governor: soakGovernor(t, m)}), 8, time.Hour)
}

func TestSoakEmulated(t *testing.T) {
	m := soakMachine(t)
	harness, err := emulator.Build("../firmware-notes/emulator")
	require.NoError(t, err)
	b, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: "../firmware-notes/firmware/firmware.hex", Governor: soakGovernor(t, m),
	})
	require.NoError(t, err)
	soak(t, m, b, 6, 5*time.Minute)
}

func soakMachine(t *testing.T) *machine.Machine {
	m, err := machine.Load("../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	return m
}

func soakGovernor(t *testing.T, m *machine.Machine) *governor.Governor {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	return g
}

// soak plays so many stretches of load steps on one session and prints what
// this process and its children hold at the start and after each.
func soak(t *testing.T, m *machine.Machine, conn io.ReadWriteCloser, stretches int, each time.Duration) {
	dir := t.TempDir()
	session, err := rig.Open(context.Background(), conn, rig.Settings{SafeStick: 1100 * time.Microsecond})
	require.NoError(t, err)
	loop := rig.NewLoop(rig.Setup{
		Plant:     heli.New(m.HeliParams(), float64(soakStep)/board.TickHz),
		StepTicks: soakStep, TickRate: board.TickHz, Magnets: 1,
	}, rig.Script{Phases: soakStart(m)})
	speed := soakPlay(t, session, loop, filepath.Join(dir, "start"))
	start := held(t)
	t.Logf("board time %8s: %v, head %.2f rpm", time.Duration(loop.Time()*1e9).Round(time.Second), start, speed)
	for range stretches {
		loop.Append(soakLoads(m, each)...)
		before := loop.Health()
		got := soakPlay(t, session, loop, filepath.Join(dir, "stretch"))
		now := held(t)
		t.Logf("board time %8s: %v, head %.2f rpm, worst interval %.4f %%", time.Duration(loop.Time()*1e9).Round(time.Second), now, got, 100*loop.Health().WorstInterval)
		require.InDelta(t, speed, got, 0.002*speed, "it governs as at the start")
		soakHealth(t, loop.Health(), before)
		start.grown(t, now)
	}
	require.NoError(t, session.Close())
}

// soakPlay plays the loop to its end, with a record that is thrown away, and
// gives the mean head speed, rpm, of the last five seconds.
func soakPlay(t *testing.T, session *rig.Session, loop *rig.Loop, dir string) float64 {
	record, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz, Procedure: "soak", Lockstep: true})
	require.NoError(t, err)
	var newest [2500]float64 // at 500 frames a second
	n := 0
	require.NoError(t, session.Run(context.Background(), loop, record, func(s *runlog.Sample) {
		newest[n%len(newest)] = s.State.HeadSpeed
		n++
	}))
	session.Keep(nil)
	require.NoError(t, record.Close(runlog.End{Reason: runlog.Complete}))
	require.NoError(t, os.RemoveAll(dir))
	sum := 0.0
	for _, w := range newest {
		sum += w
	}
	return sum / float64(len(newest)) * 30 / math.Pi
}

func soakPhase(m *machine.Machine, name string, seconds float64, stick time.Duration, collective float64) rig.Phase {
	return rig.Phase{
		Name: name, Steps: int64(seconds * board.TickHz / soakStep), Ramp: board.TickHz / soakStep / 5,
		Stick: stick, Select: 1420 * time.Microsecond, Collective: collective,
	}
}

// soakStart takes the engine up to its governed speed.
func soakStart(m *machine.Machine) []rig.Phase {
	low := float64(m.LoadStep.CollectiveLow)
	return []rig.Phase{
		soakPhase(m, "idle", 1, 1100*time.Microsecond, low),
		soakPhase(m, "governed", 90, 1600*time.Microsecond, low),
	}
}

// soakLoads puts a load on and takes it off, again and again.
func soakLoads(m *machine.Machine, span time.Duration) (phases []rig.Phase) {
	low, high := float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)
	for range int(span.Seconds()) / soakCycle {
		phases = append(phases,
			soakPhase(m, "load on", soakCycle/2, 1600*time.Microsecond, high),
			soakPhase(m, "load off", soakCycle/2, 1600*time.Microsecond, low))
	}
	return phases
}

// soakHealth: the rig has done as well in this stretch as in any run.
func soakHealth(t *testing.T, now, before rig.Health) {
	require.Equal(t, before.LateFrames, now.LateFrames)
	require.Equal(t, before.FramesLost+before.BadFrames+before.Overruns, now.FramesLost+now.BadFrames+now.Overruns)
	require.Equal(t, before.LateEdges+before.LostCaptures, now.LateEdges+now.LostCaptures)
	require.Greater(t, now.Intervals, before.Intervals)
	require.Less(t, now.WorstInterval, 0.001)
}

// holding is what a process holds.
type holding struct {
	heap, resident, children int64 // bytes
	descriptors, goroutines  int
}

func (h holding) String() string {
	return fmt.Sprintf("heap %.2f MB, resident %.1f MB, children %.1f MB, descriptors %d, goroutines %d",
		float64(h.heap)/1e6, float64(h.resident)/1e6, float64(h.children)/1e6, h.descriptors, h.goroutines)
}

// grown fails when more is held now than at the start: no descriptor and no
// goroutine more, and at most 2 MB of heap, which the phases played so far and
// the collector's own tables take; 16 MB resident.
func (h holding) grown(t *testing.T, now holding) {
	require.LessOrEqual(t, now.descriptors, h.descriptors)
	require.LessOrEqual(t, now.goroutines, h.goroutines)
	require.LessOrEqual(t, now.heap, h.heap+2<<20)
	require.LessOrEqual(t, now.resident, h.resident+16<<20)
	require.LessOrEqual(t, now.children, h.children+2<<20)
}

// held looks at what this process and its children hold.
func held(t *testing.T) holding {
	runtime.GC()
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	descriptors, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	h := holding{
		heap: int64(memory.HeapAlloc), resident: resident(t, "self"),
		descriptors: len(descriptors) - 1, goroutines: runtime.NumGoroutine(),
	}
	tasks, err := filepath.Glob("/proc/self/task/*/children")
	require.NoError(t, err)
	for _, task := range tasks {
		children, err := os.ReadFile(task)
		require.NoError(t, err)
		for _, id := range strings.Fields(string(children)) {
			h.children += resident(t, id)
		}
	}
	return h
}

// resident is how much memory a process has, from proc(5), statm.
func resident(t *testing.T, process string) int64 {
	text, err := os.ReadFile("/proc/" + process + "/statm")
	require.NoError(t, err)
	pages, err := strconv.ParseInt(strings.Fields(string(text))[1], 10, 64)
	require.NoError(t, err)
	return pages * int64(os.Getpagesize())
}
