package emulator

import (
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const harnessDir = "../../../firmware-notes/emulator"

// built makes the harness and the test firmwares once.
var built = sync.OnceValues(func() (string, error) {
	path, err := Build(harnessDir)
	if err != nil {
		return "", err
	}
	if err := need(MissingError{"avr-gcc", "gcc-avr"}); err != nil {
		return "", err
	}
	return path, makeTarget(harnessDir, "tests")
})

// pinEdge is one change of an output pin.
type pinEdge struct {
	pin  Pin
	tick int64
	high bool
}

// bench is a board that runs a test firmware, and the edges it has made.
type bench struct {
	*Board
	t     testing.TB
	edges []pinEdge
}

func newBench(t testing.TB, firmware string, options Options) *bench {
	t.Helper()
	harness, err := built()
	require.NoError(t, err)
	b := &bench{t: t}
	options.Harness = harness
	options.Firmware = filepath.Join(harnessDir, "testfirmware", firmware+".hex")
	options.Watch = func(pin Pin, tick int64, high bool) {
		b.edges = append(b.edges, pinEdge{pin, tick, high})
	}
	b.Board, err = Open(options)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	return b
}

// run runs the board up to a tick.
func (b *bench) run(tick int64) {
	b.t.Helper()
	require.NoError(b.t, b.RunUntil(tick))
}

// of gives the ticks at which a pin rose or fell.
func (b *bench) of(pin Pin, high bool) []int64 {
	var ticks []int64
	for _, e := range b.edges {
		if e.pin == pin && e.high == high {
			ticks = append(ticks, e.tick)
		}
	}
	return ticks
}

// mark runs the board until a pin rises and gives the tick.
func (b *bench) mark(pin Pin) int64 {
	b.t.Helper()
	for limit := b.Now() + TickHz; len(b.of(pin, true)) == 0; {
		b.run(b.Now() + 1000)
		require.Less(b.t, b.Now(), limit, "the pin never rose")
	}
	return b.of(pin, true)[0]
}

// field is one value of a report.
type field struct {
	name  string
	value int64
}

// report reads one report of a test firmware.
func (b *bench) report() []field {
	b.t.Helper()
	var text []byte
	for len(text) == 0 || text[len(text)-1] != 0 {
		var chunk [512]byte
		n, err := b.Read(chunk[:])
		require.NoError(b.t, err)
		text = append(text, chunk[:n]...)
	}
	var fields []field
	for _, word := range strings.Fields(string(text[:len(text)-1])) {
		name, digits, ok := strings.Cut(word, "=")
		require.True(b.t, ok, word)
		value, err := strconv.ParseInt(digits, 16, 64)
		require.NoError(b.t, err, word)
		fields = append(fields, field{name, value})
	}
	return fields
}

func (b *bench) reportMap() map[string]int64 {
	b.t.Helper()
	m := map[string]int64{}
	for _, f := range b.report() {
		m[f.name] = f.value
	}
	return m
}
