package report

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"govrig/rig/execution/governed"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/faults"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/procedure/spoolup"
	"govrig/rig/procedure/sweep"
	"govrig/rig/procedure/tune"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
	"govrig/sim/words"
)

const medium = "../../../testdata/machines/medium-15cc.yaml"

// evening is one run each of the procedures that a report draws something of,
// on the virtual board.
var evening = sync.OnceValues(func() (map[string]*runlog.Record, error) {
	dir, err := os.MkdirTemp("", "govrig-report-")
	if err != nil {
		return nil, err
	}
	records := map[string]*runlog.Record{}
	for name, run := range map[string]func(context.Context, *execution.Bench) (*execution.Run, error){
		"hold": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&hold.Options{AtSpeeds: governed.AtEach("hover"), Time: 1}).Run(ctx, b)
		},
		"loadstep": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&loadstep.Options{AtSpeeds: governed.AtEach(execution.AllSpeeds)}).Run(ctx, b)
		},
		"spoolup": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&spoolup.Options{}).Run(ctx, b)
		},
		"sweep": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return new(sweep.Sweep).Measure(ctx, b, &sweep.Options{})
		},
		"tune": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&tune.Options{Positions: 2}).Run(ctx, b)
		},
		"faults": func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&faults.Options{}).Run(ctx, b)
		},
	} {
		if records[name], err = record(filepath.Join(dir, name), medium, run); err != nil {
			return nil, err
		}
	}
	return records, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if records, err := evening(); err == nil {
		_ = os.RemoveAll(filepath.Dir(records["hold"].Dir))
	}
	os.Exit(code)
}

// record runs a procedure on the virtual board and keeps it.
func record(dir, path string, run func(context.Context, *execution.Bench) (*execution.Run, error)) (*runlog.Record, error) {
	m, err := machine.Load(path)
	if err != nil {
		return nil, err
	}
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	if err != nil {
		return nil, err
	}
	b := &execution.Bench{
		Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g,
		Record: func(info runlog.Info) (*runlog.Writer, error) {
			info.Started, info.Tool = "2026-03-01T19:30:05.000+01:00", "v0"
			return runlog.Create(dir, info)
		},
	}
	if _, err := run(context.Background(), b); err != nil {
		return nil, err
	}
	return runlog.Open(dir)
}

func document(t *testing.T, names ...string) *Document {
	t.Helper()
	records, err := evening()
	require.NoError(t, err)
	var chosen []*runlog.Record
	for _, name := range names {
		chosen = append(chosen, records[name])
	}
	d, err := NewDocument(chosen)
	require.NoError(t, err)
	d.Verdict, d.Reasons = "not proven", []string{"virtual run"}
	return d
}

func pageOf(t *testing.T, d *Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.HTML(&b))
	return b.String()
}

// element is one start tag of a page.
type element struct {
	name  string
	attrs map[string]string
}

// elements parses a page, which is well-formed XML too, strictly.
func elements(t *testing.T, page string) (all []element, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	var words strings.Builder
	style := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all, words.String()
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			e := element{token.Name.Local, map[string]string{}}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			all, style = append(all, e), e.name == "style"
		case xml.EndElement:
			style = false
		case xml.CharData:
			if !style {
				words.Write(token)
			}
		}
	}
}

// The page needs nothing from outside, and every figure follows the page's
// colours.
func TestPageStandsAlone(t *testing.T) {
	page := pageOf(t, document(t, "hold", "loadstep", "spoolup", "sweep", "tune", "faults"))
	all, _ := elements(t, page)
	figures := 0
	for i, e := range all {
		require.NotContains(t, []string{"script", "iframe", "object", "embed", "img", "image", "use", "a", "base", "form"}, e.name)
		for name, value := range e.attrs {
			switch name {
			case "src", "srcset", "action", "data", "poster":
				t.Errorf("<%s> has %s=%q", e.name, name, value)
			case "href":
				require.Equal(t, "data:,", value, "<%s>", e.name)
			case "style":
				require.NotRegexp(t, `#[0-9a-fA-F]{6}`, value)
			}
			require.False(t, strings.HasPrefix(name, "on"), "<%s %s>", e.name, name)
		}
		require.NotContains(t, e.attrs, "id", "figures that name their parts would collide")
		if e.name == "svg" && e.attrs["class"] == "pen figure" {
			figures++
			require.Equal(t, "img", e.attrs["role"])
			require.Equal(t, "title", all[i+1].name, "those who cannot see it hear what it shows")
			require.Equal(t, "desc", all[i+2].name)
		}
	}
	// The pickup; hold 1, loads at 3 settings 3 each, spool-up 1, Bode 1,
	// three against the gain, faults 1, the load step that the law predicts 1.
	require.Equal(t, 1+1+9+1+1+3+1+1, figures)
	require.NotRegexp(t, `(?i)https?://|url\(|@import|//[a-z]`, page)
}

// What every report has to have, from top to bottom.
func TestPageHasItsParts(t *testing.T) {
	_, text := elements(t, pageOf(t, document(t, "hold", "loadstep", "sweep", "faults")))
	at := 0
	for _, part := range []string{
		"VIRTUAL: simulated governor", "Medium machine, 15 cm³", "not proven", "Why", "virtual run",
		"Set-up sheet", "8.6667", "Throttle linkage", "Pickup", "gap 1.4 mm", "Before anything turns", "Methanol",
		"Steady state", "Load steps", "hover: load on", "dip", "recovery", "circuit: load off", "brisk: loads that imitate flight",
		"Frequency response", "phase, degrees", "heavy", "Faults", "the pickup lost", "safe",
		"All numbers", "transient deviation, load on", "Small print", "The worst of any run",
		"there is no clock error", "firmware 1.0", "govrig v0", "ISO 8528-5", "Tested by",
	} {
		i := strings.Index(text[at:], part)
		require.GreaterOrEqual(t, i, 0, "%q is missing, or not where it should be", part)
		at += i
	}
}

// A print of few runs has every number with a limit; where there are many, what
// captions and sentences have is left out, and where something went wrong, what
// went right; what missed its limit never is.
func TestPrintedRows(t *testing.T) {
	met, missed, free := gridRow{}, gridRow{Bad: true}, gridRow{Free: true}
	words := &section{Class: "pass", Found: []string{"all is well"}}
	drawn := &section{Class: "pass", Pictures: make([]picture, 3)}
	hidden := &section{Class: "pass", Pictures: make([]picture, 3), Minor: true}
	for _, s := range []*section{words, drawn, hidden} {
		require.False(t, s.Unprinted(missed))
		require.True(t, s.Unprinted(free))
	}
	require.False(t, words.Unprinted(met))
	require.True(t, drawn.Unprinted(met))
	require.False(t, hidden.Unprinted(met))
	for _, s := range []*section{words, drawn, hidden} {
		s.crowded = true
		require.False(t, s.Unprinted(missed))
	}
	require.True(t, words.Unprinted(met))
	require.False(t, hidden.Unprinted(met))
	hidden.terse = true
	require.True(t, hidden.Unprinted(met))
	require.True(t, hidden.Bare())
	hidden.Notes = []string{"the computer was late"}
	require.False(t, hidden.Bare(), "a warning is never left out")
}

// A virtual run never makes a go, and each part of it says what it is.
func TestVirtualPageIsNeverGo(t *testing.T) {
	d := document(t, "hold", "spoolup")
	page := pageOf(t, d)
	require.Contains(t, page, "<title>VIRTUAL")
	require.Contains(t, page, `class="watermark"`)
	require.Equal(t, 2, strings.Count(page, `<p class="mark">VIRTUAL</p>`))
	d.Verdict = "go"
	require.Error(t, d.HTML(io.Discard))
	require.Error(t, d.Text(io.Discard))
	require.Error(t, d.JSON(io.Discard))
}

// A name that means something to a browser is shown as it is.
func TestPageEscapes(t *testing.T) {
	const name = `"><script>alert(1)</script>&amp; ' Co`
	text, err := os.ReadFile(medium)
	require.NoError(t, err)
	changed := strings.Replace(string(text), "name: Medium machine, 15 cm³", "name: '"+strings.ReplaceAll(name, "'", "''")+"'", 1)
	path := filepath.Join(t.TempDir(), "evil.yaml")
	require.NoError(t, os.WriteFile(path, []byte(changed), 0o600))
	rec, err := record(filepath.Join(t.TempDir(), "evil"), path, func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
		return (&loadstep.Options{Brief: true}).Run(ctx, b)
	})
	require.NoError(t, err)
	d, err := NewDocument([]*runlog.Record{rec})
	require.NoError(t, err)
	d.Verdict, d.Reasons = "not proven", []string{"<i>why</i>"}
	page := pageOf(t, d)
	all, words := elements(t, page)
	for _, e := range all {
		require.NotContains(t, []string{"script", "i"}, e.name)
	}
	require.Contains(t, words, name)
	require.Contains(t, words, "<i>why</i>")
}

// The captions and the tables say what the result says.
func TestPageNumbersAreTheResults(t *testing.T) {
	records, err := evening()
	require.NoError(t, err)
	_, text := elements(t, pageOf(t, document(t, "loadstep", "sweep")))
	result, err := records["loadstep"].Result()
	require.NoError(t, err)
	for _, setting := range []string{"hover", "circuit", "brisk"} {
		m := result.Find("transient_deviation_load_on_" + setting)
		require.Contains(t, text, "dip "+limited(m))
		require.Contains(t, text, words.Minus(words.Number(*m.Value)))
	}
	result, err = records["sweep"].Result()
	require.NoError(t, err)
	require.Contains(t, text, fmt.Sprintf("light %.0f°", *result.Find("phase_margin_light").Value), "marked in the figure")
	require.Contains(t, text, fmt.Sprintf("heavy %.1f dB", *result.Find("gain_margin_heavy").Value))
}

// A run that was cut off is reported as far as it came.
func TestCutOffRunIsReported(t *testing.T) {
	records, err := evening()
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "cut")
	require.NoError(t, os.CopyFS(dir, os.DirFS(records["loadstep"].Dir)))
	require.NoError(t, errors.Join(os.Remove(filepath.Join(dir, "end.json")), os.Remove(filepath.Join(dir, "result.json"))))
	samples := filepath.Join(dir, "samples.bin")
	info, err := os.Stat(samples)
	require.NoError(t, err)
	require.NoError(t, os.Truncate(samples, info.Size()/2))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	d, err := NewDocument([]*runlog.Record{rec})
	require.NoError(t, err)
	d.Verdict = "not proven"
	_, text := elements(t, pageOf(t, d))
	require.Contains(t, text, "cut off")
	var b bytes.Buffer
	require.NoError(t, d.JSON(&b))
	require.NotContains(t, b.String(), "null", "lists are never null")
	require.NoError(t, d.Text(&b))
}

// Runs of different machines make no common report.
func TestOneMachineAReport(t *testing.T) {
	records, err := evening()
	require.NoError(t, err)
	other, err := record(filepath.Join(t.TempDir(), "other"), "../../../testdata/machines/small-6cc.yaml",
		func(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
			return (&spoolup.Options{}).Run(ctx, b)
		})
	require.NoError(t, err)
	_, err = NewDocument([]*runlog.Record{records["hold"], other})
	require.ErrorContains(t, err, "different machines")
	_, err = NewDocument(nil)
	require.Error(t, err)
}

// The document's form is a promise to other programs.
func TestDocumentJSON(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, document(t, "spoolup", "hold").JSON(&b))
	var doc struct {
		Schema, Machine, Verdict string
		Virtual                  bool
		Reasons                  []string
		Runs                     []struct {
			Run, Procedure, Ended string
			Virtual               bool
			Result                measure.Result
		}
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &doc))
	require.Equal(t, "govrig/report/1", doc.Schema)
	require.Equal(t, "not proven", doc.Verdict)
	require.True(t, doc.Virtual)
	require.Len(t, doc.Runs, 2)
	require.Equal(t, "hold", doc.Runs[0].Procedure, "in the order of the work at the bench")
	require.Equal(t, measure.Pass, doc.Runs[1].Result.Outcome)
}

func TestDocumentText(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, document(t, "hold").Text(&b))
	lines := strings.Split(b.String(), "\n")
	require.True(t, strings.HasPrefix(lines[0], "VIRTUAL: "))
	require.Equal(t, "NOT PROVEN", lines[2])
	require.Contains(t, b.String(), "steady_state_speed_band")
}

// A minus is a minus on the page.
func TestNoHyphensForMinus(t *testing.T) {
	_, text := elements(t, pageOf(t, document(t, "loadstep")))
	text = regexp.MustCompile(`\d{4}-\d\d-\d\d\S*`).ReplaceAllString(text, "")
	text = strings.ReplaceAll(text, "ISO 8528-5", "")
	require.NotRegexp(t, `[ (]-\d`, text)
}

// A gain that could be raised without end has no place in its chart, the others
// have.
func TestEndlessGainMarginIsNotDrawn(t *testing.T) {
	records, err := evening()
	require.NoError(t, err)
	r, err := read(records["tune"])
	require.NoError(t, err)
	require.Len(t, r.gains, 2)
	r.gains[0].Margin = nil
	require.Len(t, r.gainPanel(r.gains, "", "recommended_gain_margin", func(p runlog.GainPosition) float64 { return known(p.Margin) }).Marks, 1)
	require.Len(t, r.gainPanel(r.gains, "", "recommended_dip", func(p runlog.GainPosition) float64 { return p.Dip }).Marks, 2)
	require.Len(t, r.gainCharts(), 3)
}
