package table_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"govrig/rig/advise/predict"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/measure/table"
	"govrig/sim/machine"
)

// flight is a head speed of our own making whose load step is that of the
// simulation: run-up, hold, the step, hold, half of the step again, run-down.
type flight struct {
	m      *machine.Machine
	name   string
	wanted float64        // rpm
	curve  measure.Series // the step, about its speed before
	dip    float64        // %, from the speed before
	back   float64        // recovery time, s
}

const (
	ground, runUp, held = 3.0, 6.0, 6.0 // s
	stepAt              = ground + runUp + held
	second              = stepAt + 12 + held
	landing             = second + 10
)

var machines = []string{"medium-15cc", "small-6cc", "large-23cc"}

func flown(t testing.TB, file string) *flight {
	m, err := machine.Load("../../../testdata/machines/" + file + ".yaml")
	require.NoError(t, err)
	s := m.Speeds[0]
	y, err := predict.Play(m, m.HeliParams(), s)
	require.NoError(t, err)
	f := &flight{m: m, name: s.Name, wanted: float64(s.HeadSpeed) * 30 / math.Pi, curve: y}
	l := step.AnalyseLoad(y, step.LoadConfig{Windows: step.Windows{Event: predict.LoadOn}, Declared: f.wanted, Tolerance: table.DefaultBand})
	f.dip, f.back = l.FromInitial.Value, l.RecoveryFromExit.Value
	before := y.Between(0, predict.LoadOn).Mean()
	for i := range y.Y {
		y.Y[i] -= before
	}
	return f
}

// head is the head speed at a time, rpm.
func (f *flight) head(t float64) float64 {
	at := func(since float64) float64 {
		i := int((since + predict.LoadOn) * 500)
		if i < 0 || i >= len(f.curve.Y) {
			return 0
		}
		return f.curve.Y[i]
	}
	switch {
	case t < ground:
		return 0
	case t < ground+runUp:
		return f.wanted * (t - ground) / runUp
	case t > landing:
		return math.Max(0, f.wanted*(1-(t-landing)/8))
	}
	return f.wanted + at(t-stepAt) + at(t-second)/2
}

// style is a way to write a log.
type style struct {
	rate             float64 // samples a second
	separator, comma string
	newline          string
	preamble, tail   string // above the heading; behind each row
	columns          []column
	unitLine         bool
	again            int // rows after which the heading comes again
	names            bool
	quote            bool
	encode           func(string) []byte
	glitch           float64 // chance of a lost or doubled reading
	lost             string  // what a missing reading looks like
	restart          bool    // the logger was started twice
}

type column struct {
	name, unit string
	write      func(f *flight, t, speed float64) string
}

func utf8(s string) []byte { return []byte(s) }

func wide(order binary.ByteOrder) func(string) []byte {
	return func(s string) []byte {
		var b bytes.Buffer
		_ = binary.Write(&b, order, utf16.Encode([]rune("\ufeff"+s)))
		return b.Bytes()
	}
}

func latin1(s string) []byte {
	var b []byte
	for _, r := range s {
		b = append(b, byte(r))
	}
	return b
}

// text writes the flight in a style.
func (s *style) text(f *flight, rng *rand.Rand) []byte {
	var b strings.Builder
	var names, unitsOf []string
	for _, c := range s.columns {
		name := c.name
		if c.unit != "" && !s.unitLine {
			name += " [" + c.unit + "]"
		}
		names, unitsOf = append(names, name), append(unitsOf, c.unit)
	}
	heading := strings.Join(names, s.separator) + s.newline
	b.WriteString(strings.ReplaceAll(s.preamble, "\n", s.newline))
	if s.names {
		b.WriteString(heading)
	}
	if s.unitLine {
		b.WriteString(strings.Join(unitsOf, s.separator) + s.newline)
	}
	if s.restart {
		s.rows(&b, f, rng, 0, 2, "")
	}
	s.rows(&b, f, rng, 0, landing+6, heading)
	return s.encode(b.String())
}

func (s *style) rows(b *strings.Builder, f *flight, rng *rand.Rand, from, to float64, heading string) {
	for i := 0; ; i++ {
		t := from + float64(i)/s.rate
		if t > to {
			return
		}
		if s.again > 0 && i > 0 && i%s.again == 0 {
			b.WriteString(heading)
		}
		speed := f.head(t) + 0.0006*f.wanted*rng.NormFloat64()*math.Min(1, f.head(t))
		switch {
		case rng.Float64() < s.glitch:
			speed = 0
		case rng.Float64() < s.glitch:
			speed *= 2
		}
		var cells []string
		for _, c := range s.columns {
			cell := c.write(f, t, speed)
			if !strings.Contains(cell, ":") && rng.Float64() < s.glitch/2 {
				cell = s.lost
			}
			if s.comma != "" {
				cell = strings.Replace(cell, ".", s.comma, 1)
			}
			if s.quote {
				cell = `"` + cell + `"`
			}
			cells = append(cells, cell)
		}
		b.WriteString(strings.Join(cells, s.separator) + s.tail + s.newline)
	}
}

func of(name, unit, format string, value func(f *flight, t, speed float64) float64) column {
	return column{name, unit, func(f *flight, t, speed float64) string { return fmt.Sprintf(format, value(f, t, speed)) }}
}

func engine(times float64) func(f *flight, t, speed float64) float64 {
	return func(f *flight, _, speed float64) float64 { return times * math.Max(3000, speed*f.m.Ratio()) }
}

func rotor(times float64) func(f *flight, t, speed float64) float64 {
	return func(_ *flight, _, speed float64) float64 { return times * speed }
}

func counted(times, zero float64) func(f *flight, t, speed float64) float64 {
	return func(_ *flight, t, _ float64) float64 { return zero + times*t }
}

func constant(x float64) func(f *flight, t, speed float64) float64 {
	return func(*flight, float64, float64) float64 { return x }
}

// dated is a time of a day that we made up, close to midnight.
func dated(layout string) func(f *flight, t, speed float64) string {
	start := time.Date(2026, 5, 9, 23, 59, 49, 300e6, time.UTC)
	return func(_ *flight, t, _ float64) string {
		return start.Add(time.Duration(t * float64(time.Second)).Round(time.Millisecond)).Format(layout)
	}
}

var styles = map[string]style{
	"plain": {rate: 100, separator: ",", columns: []column{of("Time", "s", "%.2f", counted(1, 0)), of("Head", "rpm", "%.1f", rotor(1))}},
	"German": {rate: 50, separator: ";", comma: ",", newline: "\r\n",
		columns: []column{of("Zeit", "ms", "%.0f", counted(1000, 0)), of("Drehzahl Motor", "1/min", "%.1f", engine(1)), of("Gas", "%", "%.1f", constant(42))}},
	"time of day": {rate: 25, separator: "\t", columns: []column{{"Uhrzeit", "", dated("15:04:05.000")}, of("Rotor", "U/min", "%.0f", rotor(1))}},
	"UTF-16": {rate: 40, separator: ",", newline: "\r\n", encode: wide(binary.LittleEndian),
		columns: []column{of("t", "s", "%.3f", counted(1, 0)), of("engine", "krpm", "%.4f", engine(1e-3))}},
	"UTF-16, other order": {rate: 40, separator: ";", encode: wide(binary.BigEndian),
		columns: []column{of("t", "s", "%.3f", counted(1, 0)), of("shaft speed", "Hz", "%.3f", engine(1./60))}},
	"preamble and a line of units": {rate: 60, separator: ";", unitLine: true, encode: latin1,
		preamble: "Flight recorder of our own\nPilot;nobody\nTemperature 21 °C\n\n",
		columns:  []column{of("clock", "s", "%.3f", counted(1, 0)), of("pulse", "µs", "%.0f", constant(1500)), of("main rotor", "rpm", "%.1f", rotor(1))}},
	"dates": {rate: 30, separator: "|", columns: []column{{"stamp", "", dated("2006-01-02 15:04:05.000")}, of("pickup", "Hz", "%.2f", func(f *flight, t, s float64) float64 {
		return engine(float64(f.m.Governor.PulsesPerTurn)/60)(f, t, s)
	})}},
	"German dates":           {rate: 30, separator: ";", comma: "", columns: []column{{"Datum", "", dated("02.01.2006 15:04:05.000")}, of("Kopfdrehzahl", "", "%.0f", rotor(1))}},
	"since 1970":             {rate: 50, separator: ",", columns: []column{of("stamp", "", "%.0f", counted(1000, 1778371200000)), of("omega head", "rad/s", "%.3f", rotor(math.Pi/30))}},
	"no names":               {rate: 50, separator: "  ", names: false, columns: []column{of("", "", "%.3f", counted(1, 12)), of("-", "", "%.1f", engine(1))}},
	"names that say nothing": {rate: 50, separator: ";", columns: []column{of("A", "", "%.0f", counted(1000, 55)), of("B", "", "%.2f", constant(11.1)), of("C", "", "%.1f", rotor(1))}},
	"many columns": {rate: 50, separator: ",", columns: []column{
		of("uptime_ms", "", "%.0f", counted(1000, 80000)), of("gps_speed", "", "%.1f", constant(3)), of("set_rpm", "", "%.0f", constant(1660)), of("tail_rpm", "", "%.0f", rotor(4.6)),
		of("rotor_rpm", "", "%.0f", rotor(1)), of("engine_rpm", "", "%.0f", engine(1)), of("cell_voltage", "V", "%.2f", constant(7.4))}},
	"headings again": {rate: 50, separator: ",", again: 200, quote: true, columns: []column{of("seconds", "", "%.2f", counted(1, 0)), of("RPM", "", "%.0f", engine(1))}},
	"started again":  {rate: 50, separator: ",", restart: true, columns: []column{of("t", "s", "%.2f", counted(1, 0)), of("n", "rpm", "%.0f", rotor(1))}},
	"whole seconds":  {rate: 20, separator: ",", columns: []column{{"clock", "", dated("15:04:05")}, of("head speed", "", "%.0f", rotor(1))}},
	"bad readings": {rate: 50, separator: ",", glitch: 0.004, lost: "--",
		columns: []column{of("t", "s", "%.2f", counted(1, 0)), of("motor", "rpm", "%.0f", engine(1))}},
	"called by the wrong shaft": {rate: 50, separator: ",", columns: []column{of("t", "s", "%.2f", counted(1, 0)), of("rotor speed", "", "%.0f", engine(1))}},
	"units beside the numbers":  {rate: 50, separator: ";", columns: []column{of("t", "", "%.2f s", counted(1, 0)), of("Drehzahl", "", "%.0f U/min", rotor(1))}},
	"micros, remarks":           {rate: 100, separator: ",", preamble: "# a remark\n", columns: []column{of("t", "", "%.0f", counted(1e6, 5e6)), of("rps", "", "%.3f", rotor(1./60))}},
}

func (s style) whole(name string) style {
	if s.newline == "" {
		s.newline = "\n"
	}
	if s.encode == nil {
		s.encode = utf8
	}
	s.names = name != "no names"
	return s
}

// check measures a text and holds it against the simulation.
func (f *flight) check(t *testing.T, text []byte, rate float64) {
	t.Helper()
	r, err := table.Measure(bytes.NewReader(text), table.Options{Machine: f.m, Band: table.DefaultBand})
	require.NoError(t, err, "%.300s", text)
	value := func(name string) float64 {
		m := r.Find(name)
		require.NotNil(t, m.Value, "%s: %v %v", name, m.Warnings, r.Warnings)
		return *m.Value
	}
	said := strings.Join(r.Warnings, "\n")
	require.InDelta(t, f.wanted, value(table.GovernedSpeed), 0.01*f.wanted, said)
	require.InDelta(t, f.dip, value(table.PeakDeviation), 0.35, said)
	require.InDelta(t, f.back, value(table.RecoveryTime), 0.35+3/rate, said)
	require.Contains(t, said, fmt.Sprintf("setting %q", f.name))
}

func TestStylesOfLogs(t *testing.T) {
	for i, file := range machines {
		f := flown(t, file)
		for name, s := range styles {
			t.Run(file+"/"+name, func(t *testing.T) {
				s := s.whole(name)
				f.check(t, s.text(f, rand.New(rand.NewPCG(uint64(i), 1))), s.rate)
			})
		}
	}
}

// drawn is a style by lot.
func drawn(rng *rand.Rand) style {
	pick := func(n int) int { return rng.IntN(n) }
	clocks := []column{
		of("time", "s", "%.3f", counted(1, 0)), of("Zeit", "s", "%.3f", counted(1, 3)), of("t", "ms", "%.0f", counted(1000, 0)), of("timestamp", "", "%.0f", counted(1000, 500)),
		of("stamp", "µs", "%.0f", counted(1e6, 0)), of("elapsed", "min", "%.6f", counted(1./60, 0)), {"time of day", "", dated("15:04:05.000")},
		{"date time", "", dated("2006-01-02T15:04:05.000Z")}, {"when", "", dated("2.1.2006 15:04:05.000")}, of("seconds since 1970", "", "%.3f", counted(1, 1778371200)),
	}
	unit := []struct {
		name, format string
		times        float64
	}{{"rpm", "%.1f", 1}, {"1/min", "%.1f", 1}, {"krpm", "%.5f", 1e-3}, {"Hz", "%.3f", 1. / 60}, {"rad/s", "%.3f", math.Pi / 30}}[pick(5)]
	shaft := of([]string{"engine", "Motor", "crank speed", "n_engine"}[pick(4)], unit.name, unit.format, engine(unit.times))
	if pick(2) == 0 {
		shaft = of([]string{"head", "Rotor", "main rotor speed", "Kopfdrehzahl"}[pick(4)], unit.name, unit.format, rotor(unit.times))
	}
	s := style{
		rate: []float64{20, 25, 50, 100}[pick(4)], separator: []string{";", "\t", ",", "|", " ; "}[pick(5)], newline: []string{"\n", "\r\n", "\r"}[pick(3)],
		columns: []column{clocks[pick(len(clocks))], of("volts", "", "%.2f", constant(7.9)), shaft, of("Throttle", "%", "%.1f", constant(40))},
		encode:  []func(string) []byte{utf8, wide(binary.LittleEndian), wide(binary.BigEndian)}[pick(3)],
		again:   []int{0, 0, 300}[pick(3)], quote: pick(3) == 0, glitch: []float64{0, 0.003}[pick(2)], lost: []string{"", "NaN", "-"}[pick(3)],
		preamble: []string{"", "# our own\n", "Recorder: ours\n\n"}[pick(3)], restart: pick(4) == 0, unitLine: pick(4) == 0, names: true,
	}
	if s.quote && s.separator == " ; " {
		s.separator = ";"
	}
	if s.separator != "," && pick(2) == 0 {
		s.comma = ","
	}
	rng.Shuffle(len(s.columns), func(i, j int) { s.columns[i], s.columns[j] = s.columns[j], s.columns[i] })
	return s
}

func TestSeriesOfLogs(t *testing.T) {
	var flights []*flight
	for _, file := range machines {
		flights = append(flights, flown(t, file))
	}
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 15))
		s := drawn(rng)
		t.Run(fmt.Sprint(seed), func(t *testing.T) { f := flights[seed%3]; f.check(t, s.text(f, rng), s.rate) })
	}
}
