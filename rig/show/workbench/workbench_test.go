package workbench

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"govrig/rig/execution"
	"govrig/rig/show/live"
	"govrig/sim/machine"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// aBench is a workbench on a folder of its own, with virtual boards.
func aBench(t *testing.T, file string) (*Workbench, string) {
	folder := t.TempDir()
	path := ""
	if file != "" {
		path = filepath.Join(folder, "mine.yaml")
		require.NoError(t, os.WriteFile(path, []byte(file), 0o644))
	}
	w := New(Options{
		Folder: folder, Records: filepath.Join(folder, "runs"), Machine: path, Virtual: true, Notes: io.Discard, After: func(time.Duration) <-chan time.Time { return nil },
		Bench: func(_ context.Context, _ *execution.Procedure, o execution.Options, m *machine.Machine, _ bool, page *live.Page) (*execution.Bench, error) {
			b := &execution.Bench{Machine: m, Where: "virtual"}
			page.Watch(b)
			return b, o.Simulate(b)
		},
	})
	t.Cleanup(w.Close)
	return w, folder
}

func aFile(t *testing.T) string {
	text, err := machine.Template(map[string]string{"name": "Big & <b>bold</b>"})
	require.NoError(t, err)
	return text
}

func asked(w *Workbench, method, path, body string) (int, string) {
	out := httptest.NewRecorder()
	w.ServeHTTP(out, httptest.NewRequest(method, path, strings.NewReader(body)))
	return out.Code, out.Body.String()
}

// Nothing is found outside of the folder and the records, nothing is overwritten,
// and what cannot be read is refused, on every route that takes something.
func TestHostileRequests(t *testing.T) {
	w, folder := aBench(t, aFile(t))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "..", "other.yaml"), []byte("secret"), 0o644))
	for _, c := range []struct{ method, path, body string }{
		{"POST", "/choose", `{"file": "../other.yaml"}`},
		{"POST", "/choose", `{"file": "/etc/passwd"}`},
		{"POST", "/choose", `not JSON`},
		{"POST", "/new", `[]`},
		{"POST", "/example", `{"quirk": "../../x"}`},
		{"POST", "/check", `{"changes": 7}`},
		{"POST", "/save", strings.Repeat("x", mostBytes+1)},
		{"POST", "/save", `{"changes": {"name": "` + strings.Repeat("x", mostBytes) + `"}}`},
		{"POST", "/walk", `{"only": "nothing of that name"}`},
		{"POST", "/hold", ``},
		{"POST", "/order", `{"order": "stick high"}`},
		{"POST", "/beat", `{}`},
		{"GET", "/run?name=../../etc", ``},
		{"GET", "/run?name=..", ``},
		{"GET", "/run", ``},
		{"GET", "/beside?a=../x&b=y", ``},
		{"GET", "/report", ``},
	} {
		code, body := asked(w, c.method, c.path, c.body)
		require.GreaterOrEqual(t, code, 400, "%s %s: %s", c.method, c.path, body)
		require.NotContains(t, body, "secret")
	}
	for _, path := range []string{"/nothing", "/page/rooms.js", "/../rooms.js", "/choose"} {
		code, _ := asked(w, http.MethodGet, path, "")
		require.Equal(t, http.StatusNotFound, code, path)
	}
}

// A name from the file is text on every page, never markup.
func TestNamesAreText(t *testing.T) {
	w, _ := aBench(t, aFile(t))
	for _, path := range []string{"/", "/board", "/tests", "/steps", "/hand", "/paper"} {
		code, body := asked(w, http.MethodGet, path, "")
		require.Equal(t, http.StatusOK, code, path)
		require.NotContains(t, body, "<b>", path)
		require.NotContains(t, body, "no value>", path)
		require.NotContains(t, body, "<script>", "no script of a page's own")
	}
}

// What another program wrote since the page was made is not lost, and a slip is
// not saved.
func TestSavingLosesNothing(t *testing.T) {
	text := aFile(t)
	w, folder := aBench(t, text)
	save := func(base string, changes map[string]string) (d drawn) {
		body, err := json.Marshal(edits{base, changes})
		require.NoError(t, err)
		code, reply := asked(w, http.MethodPost, "/save", string(body))
		require.Equal(t, http.StatusOK, code, reply)
		require.NoError(t, json.Unmarshal([]byte(reply), &d))
		return d
	}
	require.Contains(t, save(sum(text), map[string]string{"flying_mass": "heavy"}).Faults, "flying_mass")
	d := save(sum(text), map[string]string{"flying_mass": "5 kg"})
	require.True(t, d.Saved, d.Faults)
	require.False(t, save(sum(text), map[string]string{"flying_mass": "6 kg"}).Saved, "the page is of an older text")
	require.True(t, save(d.Base, map[string]string{"flying_mass": "6 kg"}).Saved)
	now, err := os.ReadFile(filepath.Join(folder, "mine.yaml"))
	require.NoError(t, err)
	require.Contains(t, string(now), "flying_mass: 6 kg\n")
}

// A new machine gets a file of its own; one that is there is left as it is.
func TestNewMachine(t *testing.T) {
	w, folder := aBench(t, "")
	code, body := asked(w, http.MethodPost, "/new", `{"name": "Ridge / 2", "engine.displacement": "15 ccm", "gears[0].ratio": ""}`)
	require.Equal(t, http.StatusNoContent, code, body)
	_, err := machine.Load(filepath.Join(folder, "ridge-2.yaml"))
	require.NoError(t, err)
	code, body = asked(w, http.MethodPost, "/new", `{"name": "ridge 2"}`)
	require.Equal(t, http.StatusBadRequest, code)
	require.Contains(t, body, "left as it is")
	code, body = asked(w, http.MethodPost, "/new", `{"engine.displacement": "15 bananas"}`)
	require.Equal(t, http.StatusOK, code)
	require.Contains(t, body, "engine.displacement")
	require.Equal(t, "machine.yaml", fileName("直升机"))
}

// One thing at a time plays on the board, from whichever window it was begun; what
// is under way is stopped when the program ends.
func TestOneThingAtATime(t *testing.T) {
	w, _ := aBench(t, aFile(t))
	code, body := asked(w, http.MethodPost, "/hold", `{"safe": true}`)
	require.Equal(t, http.StatusNoContent, code, body)
	for _, c := range [][2]string{{"/hold", `{"safe": true}`}, {"/walk", `{"only": "selftest"}`}, {"/choose", `{"virtual": false}`}} {
		code, body := asked(w, http.MethodPost, c[0], c[1])
		require.Equal(t, http.StatusConflict, code, c[0])
		require.Contains(t, body, "under way")
	}
	w.Close()
	_, body = asked(w, http.MethodPost, "/walk", `{"only": "selftest"}`)
	require.Contains(t, body, "about to end")
}

// Without hardware nobody has to say that no engine can run; with it, they have to.
func TestTheHandsAreAskedFirst(t *testing.T) {
	w, _ := aBench(t, aFile(t))
	code, _ := asked(w, http.MethodPost, "/choose", `{"virtual": false}`)
	require.Equal(t, http.StatusNoContent, code)
	code, body := asked(w, http.MethodPost, "/hold", `{"safe": false}`)
	require.Equal(t, http.StatusBadRequest, code)
	require.Contains(t, body, "no engine can run")
}
