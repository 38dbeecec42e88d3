package firmware

import (
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// values are the parameters of a circuit: parts, rails, and what its pin does.
type values map[string]string

// simulate gives the voltage of a node of a circuit at rest, by ngspice.
func simulate(t *testing.T, circuit, node string, v values) float64 {
	t.Helper()
	text, err := os.ReadFile("circuits/" + circuit + ".cir")
	require.NoError(t, err)
	var deck strings.Builder
	fmt.Fprintln(&deck, circuit)
	for name, value := range v {
		fmt.Fprintf(&deck, ".param %s=%s\n", name, value)
	}
	fmt.Fprintf(&deck, "%s.op\n.control\nrun\nprint v(%s)\n.endc\n.end\n", text, node)
	run := exec.Command("ngspice", "-b")
	run.Stdin = strings.NewReader(deck.String())
	out, err := run.CombinedOutput()
	found := regexp.MustCompile(`(?m)^v\(` + node + `\) = (\S+)`).FindSubmatch(out)
	require.NotNil(t, found, "ngspice (Debian: apt-get install ngspice): %v\n%s", err, out)
	volts, err := strconv.ParseFloat(string(found[1]), 64)
	require.NoError(t, err)
	return volts
}

// with gives the values with some of them changed.
func (v values) with(changes ...string) values {
	changed := values{}
	for name, value := range v {
		changed[name] = value
	}
	for i := 0; i < len(changes); i += 2 {
		changed[changes[i]] = changes[i+1]
	}
	return changed
}

const (
	leftOut = "1G"
	// A floating pin leaks 1 µA at most, either way (ATmega328P data sheet,
	// DS40002061, DC Characteristics: input leakage current; from memory).
	leakHigh, leakLow = "1u", "-1u"
)

// While the chip is in reset or in its boot loader its pins float. Below 0.3 of
// its supply an input is surely low (the same data sheet; usual for CMOS): the
// resistor to ground keeps the line there, against any pull-up that the circuit is
// made for, and without it the line is the pull-up's.
func TestPushPullLinesStayLowWhileTheBoardRestarts(t *testing.T) {
	floating := values{"on": "0", "drive": "0", "leak": leakHigh, "down": "2.2k", "divide": leftOut}
	for _, c := range []struct {
		rail, pull, divide string
		low                float64
	}{
		{"5", leftOut, leftOut, 1.5}, {"5", "50k", leftOut, 1.5}, {"5", "20k", leftOut, 1.5}, {"5", "10k", leftOut, 1.5},
		{"3.3", leftOut, "1.8k", 0.99}, {"3.3", "20k", "1.8k", 0.99}, {"3.3", "10k", "1.8k", 0.99},
	} {
		v := floating.with("rail", c.rail, "pull", c.pull, "divide", c.divide)
		require.Less(t, simulate(t, "push-pull", "line", v), c.low, "%+v", c)
		if c.divide == leftOut && c.pull != leftOut {
			require.Greater(t, simulate(t, "push-pull", "line", v.with("down", leftOut)), 3., "without the resistor: %+v", c)
		}
	}
	require.Greater(t, simulate(t, "push-pull", "line", floating.with("rail", "5", "pull", leftOut, "down", leftOut)), 3.,
		"without either the leak alone carries the line")
}

// In use the resistor changes no level that the notes promise.
func TestPushPullLevels(t *testing.T) {
	driven := values{"on": "1", "leak": "0", "down": "2.2k", "divide": leftOut, "rail": "5", "pull": leftOut}
	high := driven.with("drive", "5")
	require.Greater(t, simulate(t, "push-pull", "line", high), 4.8)
	require.InDelta(t, 3.2, simulate(t, "push-pull", "line", high.with("divide", "1.8k")), 0.05)
	require.InDelta(t, 3.4, simulate(t, "push-pull", "line", high.with("divide", "1.8k", "drive", "5.25")), 0.1)
	low := driven.with("drive", "0")
	require.InDelta(t, 0.45, simulate(t, "push-pull", "line", low.with("pull", "10k")), 0.03)
	require.InDelta(t, 0.88, simulate(t, "push-pull", "line", low.with("pull", "4.7k")), 0.03)
}

// The open collector needs no resistor: floating, without the board's supply, or
// high, the pin lets the line go, to within a tenth of a volt of its rail.
func TestOpenCollectorLetsTheLineGoWhileTheBoardRestarts(t *testing.T) {
	for _, rail := range []string{"3.3", "5", "8.4"} {
		for _, pull := range []string{"10k", "4.7k", "1k"} {
			volts, err := strconv.ParseFloat(rail, 64)
			require.NoError(t, err)
			base := values{"usb": "5", "drive": "5", "on": "0", "leak": leakLow, "down": leftOut, "rail": rail, "pull": pull}
			for name, v := range map[string]values{
				"leaks to ground": base, "leaks to the supply": base.with("leak", leakHigh),
				"no USB": base.with("usb", "0"), "high": base.with("on", "1"),
			} {
				require.InDelta(t, volts, simulate(t, "open-collector", "line", v), 0.1, "%s %s: %s", rail, pull, name)
			}
			require.Less(t, simulate(t, "open-collector", "line", base.with("down", "2.2k")), volts-0.5,
				"the other stage's resistor would open Q1")
		}
	}
}

// The table of low levels in the notes.
func TestOpenCollectorLowLevels(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	for rail, want := range map[string][3]float64{"3.3": {0.13, 0.22, 0.71}, "5": {0.17, 0.30, 1.1}, "8.4": {0.26, 0.48, 1.7}} {
		row := fmt.Sprintf("| %s V | %.2f V | %.2f V | ", rail, want[0], want[1])
		require.Contains(t, string(readme), row)
		for i, pull := range []string{"10k", "4.7k", "1k"} {
			v := values{"usb": "5", "drive": "0", "on": "1", "leak": "0", "down": leftOut, "rail": rail, "pull": pull}
			require.InEpsilon(t, want[i], simulate(t, "open-collector", "line", v), 0.05, "%s V, %s", rail, pull)
		}
	}
}

// The smallest build has no divider and no clamp: whatever the governor's throttle
// signal is, D8 reads it, and the chip's own clamps carry less than the 1 mA that
// they bear (Atmel's application note AVR182; from memory).
func TestSmallestBuildTimesAnyThrottleSignal(t *testing.T) {
	for _, c := range []struct {
		signal, usb string
		low, high   float64 // of D8, V
	}{
		{"0", "5", -0.1, 0.1}, {"3.3", "5", 3, 3.4}, {"4.8", "5", 3, 5}, {"5", "5", 3, 5.1}, {"8.4", "5", 5, 5.7},
		{"8.4", "0", 0.4, 0.8}, {"5", "0", 0.4, 0.8},
	} {
		v := values{"signal": c.signal, "usb": c.usb, "divide": leftOut, "clamp": leftOut}
		pin := simulate(t, "throttle", "pin", v)
		require.Greater(t, pin, c.low, "%+v", c)
		require.Less(t, pin, c.high, "%+v", c)
		through := (simulate(t, "throttle", "wire", v) - pin) / 10e3
		require.Less(t, through, 0.8e-3, "%+v", c)
		t.Logf("%+v: D8 at %.2f V, %.2f mA", c, pin, 1e3*through)
	}
}

// Its drawing, its breadboard and its list name the same parts.
func TestSmallestBuildIsOneListOfParts(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	_, section, _ := strings.Cut(string(readme), "## The smallest build")
	section, _, _ = strings.Cut(section, "## Who powers what")
	for _, name := range []string{"smallest", "breadboard-smallest"} {
		drawing, err := os.ReadFile("wiring/" + name + ".svg")
		require.NoError(t, err)
		named := map[string]bool{}
		for _, part := range regexp.MustCompile(`>([RQDC]\d+a?)\b`).FindAllStringSubmatch(string(drawing), -1) {
			if part[1] != "D8" && part[1] != "D9" && part[1] != "D10" {
				named[part[1]] = true
				require.Contains(t, section, part[1], name)
			}
		}
		require.Len(t, named, 7, "%s: one transistor and six resistors", name)
	}
}

// The throttle line's table in the notes: what D8 sees of a signal.
func TestThrottleLevels(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	for _, c := range []struct {
		signal, divide, clamp string
		d8                    float64
		row                   string
	}{
		{"4.8", "22k", "1m", 3.3, "| 4.8 V | 3.3 V |"}, {"5", "22k", "1m", 3.4, "| 5 V | 3.4 V |"},
		{"6", "22k", "1m", 4.1, "| 6 V | 4.1 V |"}, {"8.4", "22k", "1m", 5.2, "5.2 V with it"},
		{"3.3", leftOut, "1m", 3.3, "Link open, 3.3 V: all of the 3.3 V"},
	} {
		require.Contains(t, string(readme), c.row)
		v := values{"signal": c.signal, "usb": "5", "divide": c.divide, "clamp": c.clamp}
		require.InDelta(t, c.d8, simulate(t, "throttle", "pin", v), 0.06, "%+v", c)
	}
}
