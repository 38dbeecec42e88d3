package logfile

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func read(t *testing.T, text string, columns ...string) (got []Row, notes []string, err error) {
	c := Columns{}
	for _, text := range columns {
		require.NoError(t, c.ParseColumn(text))
	}
	log, err := Read(strings.NewReader(text), c, nil)
	if err != nil {
		return nil, nil, err
	}
	return log.Rows, log.Notes, nil
}

var nan = math.NaN()

func TestTablesThatAreRead(t *testing.T) {
	two := []Row{{0, 16000, nan, nan}, {0.002, 16000.5, nan, nan}}
	tests := map[string]struct {
		text    string
		columns []string
		want    []Row
		note    string
	}{
		"plain": {text: "time_s,speed_rpm\n0,16000\n0.002,16000.5\n", want: two},
		"carriage returns, byte order mark and remarks": {
			text: "\ufeff# made by hand\r\ntime_s,speed_rpm\r\n\r\n0,16000\r\n0.002,16000.5\r\n", want: two},
		"columns in any order, more of them": {
			text: "x, speed_rpm ,time_s\na,16000,0\nb,16000.5,0.002\n", want: two},
		"all four": {
			text: "time_s,speed_rpm,throttle_us,load\n1,15000,1500,0\n2,15001,1502,1\n",
			want: []Row{{1, 15000, 1500, 0}, {2, 15001, 1502, 1}}},
		"other names": {
			text:    "t,\"Engine RPM\"\n0,16000\n0.002,16000.5\n",
			columns: []string{"time_s=t", "speed_rpm=Engine RPM"}, want: two},
		"quotes": {text: "\"time_s\",\"speed_rpm\"\n\"0\",\"16000\"\n\"0.002\",\"16000.5\"\n", want: two},
		"decimal commas": {
			text: "time_s;speed_rpm\n0;16000\n0,002;16000,5\n", want: two, note: "decimal commas"},
		"decimal commas in quotes": {
			text: "time_s,speed_rpm\n0,16000\n\"0,002\",\"16000,5\"\n", want: two, note: "decimal commas"},
		"tabs":                  {text: "time_s\tspeed_rpm\n0\t16000\n0.002\t16000.5\n", want: two},
		"a torn last line":      {text: "time_s,speed_rpm\n0,16000\n0.002,16000.5\n0.004,160", want: two, note: "torn"},
		"a short last line":     {text: "time_s,speed_rpm\n0,16000\n0.002,16000.5\n0.004\n", want: two, note: "torn"},
		"an empty speed":        {text: "time_s,speed_rpm\n0,16000\n0.001,\n0.0015,NaN\n0.002,16000.5\n", want: two, note: "2 rows without a speed"},
		"repeated times":        {text: "time_s,speed_rpm\n0,15999\n0,16001\n0.002,16000.5\n0.002,16000.5\n", want: two, note: "before: 2"},
		"an empty load is none": {text: "time_s,speed_rpm,load\n0,16000,\n0.002,16000.5,\n", want: two},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, notes, err := read(t, tt.text, tt.columns...)
			require.NoError(t, err)
			require.Len(t, got, len(tt.want))
			for i := range got {
				a, b := [4]float64{got[i].Time, got[i].Speed, got[i].Throttle, got[i].Load},
					[4]float64{tt.want[i].Time, tt.want[i].Speed, tt.want[i].Throttle, tt.want[i].Load}
				for k := range a {
					require.True(t, a[k] == b[k] || math.IsNaN(a[k]) && math.IsNaN(b[k]), "row %d: %v", i, got[i])
				}
			}
			if tt.note == "" {
				require.Empty(t, notes)
			} else {
				require.Contains(t, strings.Join(notes, "\n"), tt.note)
			}
		})
	}
}

func TestTablesThatAreRefusedWithAClearWord(t *testing.T) {
	tests := map[string]struct{ text, word string }{
		"empty":                         {"", "no samples"},
		"header only":                   {"time_s,speed_rpm\n", "no samples"},
		"header without line end":       {"time_s,speed_rpm", "no samples"},
		"no speed column":               {"time_s,thrust\n0,1\n1,2\n2,1\n", `no column is known for the speed; there are: time_s, thrust; say --column speed_rpm=NAME`},
		"two speed columns":             {"time_s,speed_rpm,speed_rpm\n0,1,2\n", "two columns"},
		"no number":                     {"time_s,speed_rpm\n0,16000\n1,fast\n2,3\n", `line 3, speed_rpm: "fast" is no number`},
		"out of range":                  {"time_s,speed_rpm\n0,1e999\n", "out of range"},
		"infinite":                      {"time_s,speed_rpm\n0,inf\n", "out of range"},
		"no time":                       {"time_s,speed_rpm\n,16000\n", "line 2: the time is missing"},
		"time goes back":                {"time_s,speed_rpm\n1,1\n0.5,1\n", "line 3: time goes back from 1 s to 0.5 s"},
		"short line in the middle":      {"time_s,speed_rpm\n0\n1,2\n", "line 2 has 1 fields where the header has 2"},
		"short line, then a torn one":   {"time_s,speed_rpm\n0,1\n1\n2,2", "line 3 has 1 fields"},
		"decimal commas without quotes": {"time_s,speed_rpm\n0,002,16000,5\n", "semicolons"},
		"thousands or decimals":         {"time_s,speed_rpm\n1.5,\"16,000\"\n", "thousands or of decimals"},
		"thousands and decimals":        {"time_s;speed_rpm\n1,5;16.000,5\n", "separator of thousands"},
		"open quote":                    {"time_s,speed_rpm\n\"0,1\n", "quote is not closed"},
		"no table":                      {strings.Repeat("x", 1<<17), "longer than"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, _, err := read(t, tt.text)
			require.ErrorIs(t, err, ErrFormat)
			require.ErrorContains(t, err, tt.word)
		})
	}
}

func TestColumnOption(t *testing.T) {
	c := Columns{}
	require.NoError(t, c.ParseColumn("load=Blade pitch"))
	require.Error(t, c.ParseColumn("load=again"))
	require.Error(t, c.ParseColumn("rpm=x"))
	require.Error(t, c.ParseColumn("time_s"))
	require.Error(t, c.ParseColumn("time_s= "))
	_, _, err := read(t, "time_s,speed_rpm\n0,1\n", "load=pitch")
	require.ErrorContains(t, err, `no column "pitch"`)
}

// Any bytes in: no panic, times that increase, and only finite speeds out.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"time_s,speed_rpm\n0,16000\n0.002,16000.5\n", "time_s;speed_rpm;load\n0;1,5;\n0;2;3\n1", "\"time_s\",\"speed_rpm\"\n\"\"\"\",1\n",
		"\ufefftime_s\tspeed_rpm\n", "#\n\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		last := math.Inf(-1)
		log, err := Read(strings.NewReader(string(data)), nil, &Machine{Ratio: 8, Pulses: 2, Heads: []float64{1660}})
		if err != nil {
			require.ErrorIs(t, err, ErrFormat)
			return
		}
		for _, r := range log.Rows {
			require.True(t, r.Time > last && !math.IsNaN(r.Speed) && !math.IsInf(r.Speed, 0), "row %+v after %g", r, last)
			last = r.Time
		}
	})
}
