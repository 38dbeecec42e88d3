package measure

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDeclaredAndNeverTakenIsNotRun(t *testing.T) {
	s := NewSheet("hold", true, Declaration{Name: "a", Unit: "%", Limit: AtMost(1)})
	r := s.Result()
	require.Equal(t, NotRun, r.Outcome)
	require.Nil(t, r.Find("a").Value)
	require.Equal(t, NotRun, r.Find("a").Outcome)
}

func TestOutcomeOfTheWhole(t *testing.T) {
	limited := Declaration{Name: "limited", Limit: Between(-1, 1)}
	free := Declaration{Name: "free"}
	maybe := Declaration{Name: "maybe", Optional: true}
	tests := map[string]struct {
		take func(*Sheet)
		want Outcome
	}{
		"all taken and met":                 {func(s *Sheet) { s.Set("limited", 1); s.Set("free", 99) }, Pass},
		"a limit missed":                    {func(s *Sheet) { s.Set("limited", -1.01); s.Set("free", 99) }, Fail},
		"a limit missed before one not run": {func(s *Sheet) { s.Set("limited", 2) }, Fail},
		"a measure without limit not taken": {func(s *Sheet) { s.Set("limited", 0) }, NotRun},
		"a reason given is still not run":   {func(s *Sheet) { s.Set("limited", 0); s.NotRun("free", "no event") }, NotRun},
		"not a number beats fail":           {func(s *Sheet) { s.Set("limited", 2); s.Set("free", math.NaN()) }, Error},
		"broken beats all":                  {func(s *Sheet) { s.Set("limited", 2); s.Set("free", 1); s.Break("link lost") }, Error},
		"taken twice":                       {func(s *Sheet) { s.Set("limited", 0); s.Set("free", 1); s.Set("free", 2) }, Error},
		"never declared":                    {func(s *Sheet) { s.Set("limited", 0); s.Set("free", 1); s.Set("ghost", 2) }, Error},
		"declared twice":                    {func(s *Sheet) { s.Set("limited", 0); s.Set("free", 1); s.Declare(free) }, Error},
		"impossible limit":                  {func(s *Sheet) { s.Declare(Declaration{Name: "x", Limit: Between(2, 1)}) }, Error},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := NewSheet("p", false, limited, free, maybe)
			tt.take(s)
			require.Equal(t, tt.want, s.Result().Outcome)
		})
	}
}

func TestOptionalAloneIsNoPass(t *testing.T) {
	s := NewSheet("p", false, Declaration{Name: "maybe", Optional: true})
	require.Equal(t, NotRun, s.Result().Outcome, "nothing was taken")
}

func TestALimitMakesAMeasureRequired(t *testing.T) {
	s := NewSheet("p", false, Declaration{Name: "a"},
		Declaration{Name: "maybe", Optional: true, Limit: AtMost(3)})
	s.Set("a", 1)
	require.Equal(t, NotRun, s.Result().Outcome)
}

func TestTakeCarriesDetailAndReason(t *testing.T) {
	s := NewSheet("p", false, Declaration{Name: "band", Convention: "full width"}, Declaration{Name: "dip"})
	s.Take("band", Read(0.4, "few samples").With("window 2 s"))
	s.Take("dip", Missing("no event at %g s", 3.0).Warn("log ends early"))
	r := s.Result()
	require.Equal(t, "full width; window 2 s", r.Find("band").Convention)
	require.Equal(t, []string{"few samples"}, r.Find("band").Warnings)
	require.Equal(t, NotRun, r.Find("dip").Outcome)
	require.Equal(t, []string{"no event at 3 s", "log ends early"}, r.Find("dip").Warnings)
}

func TestJSONLayout(t *testing.T) {
	s := NewSheet("loadstep", true,
		Declaration{Name: "steady_state_speed_band", Unit: "%", Limit: AtMost(1.5)},
		Declaration{Name: "governed_speed", Unit: "rpm"})
	s.Set("steady_state_speed_band", 0.5)
	got, err := json.Marshal(s.Result())
	require.NoError(t, err)
	require.JSONEq(t, `{"schema":"govrig/result/1","procedure":"loadstep","virtual":true,
		"outcome":"not_run","warnings":[],"measures":[
		{"name":"steady_state_speed_band","key":{"what":"steady_state_speed_band"},"value":0.5,"unit":"%","limit":{"max":1.5},"outcome":"pass","warnings":[]},
		{"name":"governed_speed","key":{"what":"governed_speed"},"value":null,"unit":"rpm","outcome":"not_run","warnings":[]}]}`, string(got))
}

func TestLimit(t *testing.T) {
	require.True(t, AtMost(2).Met(2))
	require.False(t, AtMost(2).Met(2.0000001))
	require.True(t, AtLeast(-10).Met(-10))
	require.False(t, AtLeast(-10).Met(-10.1))
	var none *Limit
	require.True(t, none.Met(math.MaxFloat64))
	require.False(t, none.Met(math.NaN()))
	require.NoError(t, none.Validate())
	require.Error(t, (&Limit{}).Validate())
	require.Error(t, AtMost(math.NaN()).Validate())
	require.Equal(t, "-10 to 12", Between(-10, 12).String())
	require.Equal(t, "≤ 2", AtMost(2).String())
}

func TestSeriesValidate(t *testing.T) {
	require.NoError(t, Series{T: []float64{0, 1}, Y: []float64{1, 1}}.Validate())
	require.ErrorIs(t, Series{T: []float64{0, 1}, Y: []float64{1}}.Validate(), ErrSeries)
	require.ErrorIs(t, Series{T: []float64{0, 0}, Y: []float64{1, 2}}.Validate(), ErrSeries)
	require.ErrorIs(t, Series{T: []float64{0, 1}, Y: []float64{1, math.Inf(1)}}.Validate(), ErrSeries)
}

func TestSeriesWindowAndGap(t *testing.T) {
	s := Series{}
	for i := range 100 {
		if i >= 40 && i < 60 {
			continue
		}
		s.T, s.Y = append(s.T, float64(i)/100), append(s.Y, float64(i))
	}
	w := s.Between(0.10, 0.20)
	require.Equal(t, 10.0, w.Y[0])
	require.Equal(t, 19.0, w.Y[w.Len()-1])
	require.Equal(t, []Gap{{From: 0.39, To: 0.60}}, s.Gaps())
	require.Zero(t, s.Between(5, 4).Len())
	require.True(t, math.IsNaN(Series{}.Interval()))
}
