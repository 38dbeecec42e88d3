package main

import (
	"bufio"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/runlog"
	"govrig/rig/show/live"
)

// The page shows a run on a port as it does a virtual one, and its stop button
// leaves the board in its safe state by the computer's order, not by the
// failsafe's.
func TestLivePageOnAPort(t *testing.T) {
	machine, records := quick(t), t.TempDir()
	port := emulate(t, machine)
	errs, code := inBackground("loadstep", machine, "--port", port, "--engine-cannot-run", "--no-input",
		"--failsafe", "1s", "--live", "--records", records)
	address := errs.address(t)
	news, err := http.Get(address + "events")
	require.NoError(t, err)
	defer news.Body.Close()
	events := bufio.NewReader(news.Body)

	state, points := follow(t, events, func(s live.State, points int) bool { return s.Phase == "spool-up" && points > 50 })
	require.Equal(t, port, state.Board)
	require.True(t, state.Virtual, "an emulator is no hardware")
	require.Equal(t, "hover", state.Setting)
	require.NotEmpty(t, state.Phases, "idling is over")
	require.Positive(t, points)

	stop, err := http.NewRequest(http.MethodPost, address+"stop", nil)
	require.NoError(t, err)
	stop.Header.Set("Origin", "http://"+stop.URL.Host)
	answer, err := http.DefaultClient.Do(stop)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusNoContent, answer.StatusCode)
	state, _ = follow(t, events, func(s live.State, _ int) bool { return s.End != nil })
	require.Equal(t, "stopped", state.End.Word)
	require.Equal(t, exitStopped, <-code, errs.String())

	rec, err := runlog.Find(records, runlog.Last)
	require.NoError(t, err)
	require.Equal(t, runlog.Stopped, rec.Reason())
	var last protocol.Telemetry
	require.NoError(t, rec.Messages(func(m runlog.Message) bool {
		if m.Kind == runlog.FromBoard && m.Bytes[0] == protocol.TelemetryID {
			require.NoError(t, last.Parse(m.Bytes))
		}
		return true
	}))
	require.NotZero(t, last.Flags&protocol.TelemetrySafe)
	require.Zero(t, last.Flags&(protocol.TelemetryPlaying|protocol.TelemetryFailsafe))
}

// follow reads server-sent events until what they tell is enough, and gives the
// newest state and how many points have come since.
func follow(t *testing.T, events *bufio.Reader, enough func(s live.State, points int) bool) (state live.State, points int) {
	t.Helper()
	for !enough(state, points) {
		line, err := events.ReadString('\n')
		require.NoError(t, err)
		name, ok := strings.CutPrefix(line, "event: ")
		if !ok {
			continue
		}
		data, err := events.ReadString('\n')
		require.NoError(t, err)
		data = strings.TrimPrefix(data, "data: ")
		switch strings.TrimSpace(name) {
		case "state":
			state = live.State{}
			require.NoError(t, json.Unmarshal([]byte(data), &state))
		case "points":
			var some []live.Point
			require.NoError(t, json.Unmarshal([]byte(data), &some))
			points += len(some)
		}
	}
	return state, points
}
