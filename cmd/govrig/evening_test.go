package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// evening is a practitioner with a machine of one kind, at a bench without hardware.
type evening struct {
	t      *testing.T
	folder string
	file   string // the machine's
}

// type types a command, and gives what was printed.
func (e *evening) types(code int, args ...string) string {
	var out, notes bytes.Buffer
	for i, arg := range args {
		if arg == "MINE" {
			args[i] = e.file
		}
	}
	got := run(context.Background(), args, streams{strings.NewReader(""), &out, &notes})
	require.Equal(e.t, code, got, "%s\n%s%s", args, out.String(), notes.String())
	return strings.Join(strings.Fields(out.String()+notes.String()), " ")
}

func (e *evening) edits(old, new string) {
	text, err := os.ReadFile(e.file)
	require.NoError(e.t, err)
	require.Contains(e.t, string(text), old)
	require.NoError(e.t, os.WriteFile(e.file, []byte(strings.Replace(string(text), old, new, 1)), 0o644))
}

// flies writes a log as a flight gives it: the head dips by a share under a load and
// is back within a second.
func (e *evening) flies(head, dip float64) string {
	var b strings.Builder
	b.WriteString("time_s,speed_rpm,load\n")
	for i := range 400 {
		at, load := float64(i)/20, 0
		speed := head
		if since := at - 8; since >= 0 {
			load = 1
			speed -= head * dip * math.E * since / 0.3 * math.Exp(-since/0.3)
		}
		fmt.Fprintf(&b, "%.2f,%.1f,%d\n", at, speed, load)
	}
	file := filepath.Join(e.folder, "flight.csv")
	require.NoError(e.t, os.WriteFile(file, []byte(b.String()), 0o644))
	return file
}

const transmitter = `transmitter:
  pulse_at_0_percent: 1100 µs
  pulse_at_100_percent: 1900 µs
  hold: 12 %
  engine_cut: -5 %
  modes:
    normal:
      curve: [0 %, 40 %, 60 %, 80 %, 100 %]
      flown: ungoverned
    loops:
      curve: [70 %, 60 %, 100 %]

# What the governor's paper`

// Three machines of different kinds, each from a new file to the printed page and a
// first flight, by nothing but commands.
func TestEvenings(t *testing.T) {
	for name, c := range map[string]struct {
		new      []string
		edits    [][2]string
		plan     []string
		leaveOut string
		done     []string
		head     float64
	}{
		"glow": {
			new:      []string{"--displacement", "6.5 cm3", "--fuel", "methanol", "--pinion", "9", "--main-gear", "80", "--rotor-radius", "0.62 m", "--head-speed", "1800 rpm"},
			edits:    [][2]string{{"# What the governor's paper", transmitter}, {"  #kind: analogue", "  kind: digital"}, {"  #highest_frame_rate: 333 Hz", "  highest_frame_rate: 200 Hz"}},
			plan:     []string{"Blades: find the greatest head speed that their maker allows", "Methanol burns with a flame you cannot see", "loops, governed over the whole stick", "1660 1580 1900", "Throttle hold: 12 %, 1196 µs"},
			leaveOut: "accept,sweep,faults",
			done:     []string{"loops: the throttle curve stays at or above 60 % of the stick's way", "Servo frames come at 71.0 Hz", "1800 rpm wanted at the head"},
			head:     1800,
		},
		"petrol": {
			new:      []string{"--displacement", "26 ccm", "--fuel", "petrol", "--ratio", "6.5", "--head-speed", "1450 rpm", "--greatest-head-speed", "1700 rpm"},
			edits:    [][2]string{{"  #kind: analogue", "  kind: analogue"}},
			plan:     []string{"by the ratio in the machine file", "etrol vapour creeps along the ground", "The blade maker allows 1700 rpm"},
			leaveOut: "accept,sweep,faults",
			done:     []string{"That is more often than the throttle servo of the machine file is made for, about 50 Hz", "Do not connect that servo", "1450 rpm wanted at the head"},
			head:     1450,
		},
		"scale": {
			new:      []string{"--displacement", "13 cm3", "--blades", "4", "--magnets", "2", "--select", "none", "--pinion", "9", "--main-gear", "90", "--head-speed", "1250 rpm", "--greatest-head-speed", "1500 rpm"},
			plan:     []string{"The governor has no select input", "2 magnets on the wheel. The governor is told 2 pulses for one turn", "416.7"},
			leaveOut: "sweep",
			done:     []string{"1250.0 held as it is set at the governor", "All 15 faults that were tried are safe", "Mark where the governor's speed setting stands"},
			head:     1250,
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			e := &evening{t: t, folder: t.TempDir()}
			e.file = filepath.Join(e.folder, name+".yaml")
			records := filepath.Join(e.folder, "runs")
			e.types(exitPass, append([]string{"new", "MINE", "--name", "The " + name}, c.new...)...)
			for _, edit := range c.edits {
				e.edits(edit[0], edit[1])
			}
			sheet := e.types(exitPass, "plan", "MINE")
			for _, want := range c.plan {
				require.Contains(t, sheet, want)
			}
			page := e.types(exitFail, "commission", "MINE", "--virtual", "--records", records, "--leave-out", c.leaveOut)
			for _, want := range c.done {
				require.Contains(t, page, want)
			}
			e.edits("# Anything worth remembering.", "# A remark of no weight.")
			e.edits("  gap: 1.5 mm", "  gap: 1.6 mm")
			page = e.types(exitFail, "commission", "MINE", "--virtual", "--records", records, "--leave-out", "accept,"+c.leaveOut)
			require.Contains(t, page, "2 of 10: pickup it is done again: pickup.gap was 1.5 mm and is 1.6 mm now")
			require.Contains(t, page, "5 of 10: hold passed before")
			require.NotContains(t, page, "5 of 10: hold it is done again")
			e.types(exitPass, "report", "MINE", "--records", records, "-o", filepath.Join(e.folder, "page.html"))
			html, err := os.ReadFile(filepath.Join(e.folder, "page.html"))
			require.NoError(t, err)
			for _, want := range []string{"The " + name, "VIRTUAL", "Spool-up", "stick up again, rotor turning"} {
				require.Contains(t, string(html), want)
			}
			flight := e.types(exitPass, "measure", e.flies(c.head, 0.04), "--declared", fmt.Sprint(c.head))
			require.Contains(t, flight, "transient_deviation")
		})
	}
}
