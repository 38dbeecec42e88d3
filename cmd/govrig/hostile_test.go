package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	firmware "govrig/firmware-notes"
	"govrig/rig/link/flash"
	"govrig/rig/record/altered/seal"
)

// hostile are texts that do something to a terminal, a page or a reader when they
// are shown as they came: by ISO/IEC 6429, by the usual terminals' own sequences,
// and by Unicode Standard Annex 9.
var hostile = []string{
	"\x1b[2J\x1b[H", "\x1b[31mred", "\x1b]0;title\a", "\x1b]8;;http://a.example\x1b\\link", "\x1bP+q\x1b\\",
	"\u009b31m", "\u009d0;title\u009c", "bell\a", "back\b\b\b\b", "over\rwritten",
	"line\nFORGED: go", "line\r\nFORGED: go", "page\fFORGED", "tab\vFORGED", "delete\x7f\x7f",
	"name\u202egnp.exe", "\u2066isolate\u2069", "mark\u200e\u200f", "separator\u2028FORGED\u2029FORGED", "next\u0085FORGED",
}

var shownRaw = regexp.MustCompile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u0080-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u2028\u2029]|\r[^\n]|(?m:^FORGED)")

// harmlessText looks at what a command has shown.
func harmlessText(t *testing.T, what any, text string) {
	t.Helper()
	if at := shownRaw.FindStringIndex(text); at != nil {
		t.Fatalf("%v: raw at %d: %q", what, at[0], text[max(0, at[0]-80):min(len(text), at[1]+80)])
	}
}

// said runs a command and looks at all that it shows, and that its JSON is JSON.
func said(t *testing.T, args ...string) string {
	t.Helper()
	_, out, complaints := command("", args...)
	harmlessText(t, args, out)
	harmlessText(t, args, complaints)
	if strings.Contains(strings.Join(args, " "), "--json") && out != "" {
		require.True(t, json.Valid([]byte(out)), "%q: %q", args, out)
	}
	return out
}

// hostileMachine is the medium machine with a text for its name and its notes.
func hostileMachine(t *testing.T, file []byte, text string) string {
	quoted := strconv.QuoteToASCII(text) // a double-quoted scalar of YAML takes Go's escapes
	for _, key := range []string{"name", "notes"} {
		line := regexp.MustCompile(`(?m)^` + key + `:.*$`)
		if !line.Match(file) {
			file = append(file, []byte("\n"+key+": x\n")...)
		}
		file = line.ReplaceAllLiteral(file, []byte(key+": "+quoted))
	}
	path := filepath.Join(t.TempDir(), "machine.yaml")
	require.NoError(t, os.WriteFile(path, file, 0o644))
	return path
}

// Whatever a machine is called and its notes say: on the terminal, in JSON, CSV,
// VCD and on the page it is text, and begins no line of its own.
func TestHostileMachines(t *testing.T) {
	medium, err := os.ReadFile(mediumFile)
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	for i := range 2 { // each with half of them
		text := strings.Join(hostile[i*len(hostile)/2:(i+1)*len(hostile)/2], " and ")
		machine, records := hostileMachine(t, medium, text), fmt.Sprintf("runs%d", i)
		for _, args := range [][]string{
			{"plan", machine}, {"plan", machine, "--json"}, {"plan", machine, "--svg", "plan.svg"},
			{"loadstep", machine, "--virtual", "--brief", "--records", records},
			{"loadstep", machine, "--virtual", "--brief", "--json", "--records", ""},
			{"loadstep", machine, "--port", text, "--engine-cannot-run", "--no-input", "--records", ""},
			{"loadstep", machine, "--virtual", "--speed", text, "--records", ""},
			{"pickup", machine, "--virtual", "--answer", text + "=" + text, "--records", ""},
			{"runs", "--records", records}, {"runs", "--json", "--records", records}, {"runs", "--machine", text, "--records", records},
			{"show", "last", "--records", records}, {"show", "last", "--json", "--records", records},
			{"compare", "last", "last", "--records", records}, {"replay", "last", "--records", records},
			{"report", "last", "--text", "--records", records}, {"report", "last", "--json", "--records", records},
			{"report", "last", "-o", "page.html", "--records", records},
			{"export", "last", "--csv", "--records", records}, {"export", "last", "--json", "--records", records},
			{"export", "last", "--vcd", "--records", records}, {"export", "last", "--vcd", "-o", "lines.vcd", "--records", records},
		} {
			said(t, args...)
		}
		require.Contains(t, said(t, "runs", "--records", records), "loadstep", "the machine was taken")
		for _, name := range []string{"plan.svg", "page.html", "lines.vcd"} {
			file, err := os.ReadFile(name)
			require.NoError(t, err, name)
			harmlessText(t, name, string(file))
			require.NoError(t, os.Remove(name))
		}
	}
}

// Names of files, ports, flags and words that are typed, and come back in a
// complaint.
func TestHostileNames(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, text := range hostile {
		for _, args := range [][]string{
			{text}, {"--" + text}, {"plan", text}, {"new", "no/" + text}, {"ports", text}, {"ports", text, "--json"}, {"flash", "--port", text},
			{"flash", "--avrdude", text}, {"hold", text, "--virtual"}, {"commission", text, "--virtual"}, {"predict", text},
			{"measure", text}, {"runs", "--records", text}, {"runs", "--records=" + text}, {"runs", "--outcome", text}, {"runs", "--since", text},
			{"show", text}, {"compare", text, text}, {"report", text}, {"export", text, "--csv"}, {"replay", text},
			{"man", text + "/no/folder"}, {"emulate", text}, {"help", text}, {"version", text},
		} {
			said(t, args...)
		}
	}
}

// A table that somebody else has written.
func TestHostileTables(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, text := range hostile {
		require.NoError(t, os.WriteFile("log.csv", []byte(text+",speed_rpm\n"+text+",1\n"), 0o644))
		said(t, "measure", "log.csv")
		said(t, "measure", "log.csv", "--json")
		require.NoError(t, os.WriteFile("log.csv", []byte("time_s,speed_rpm,"+text+"\n0,1,"+text+"\n1,"+text+",3\n"), 0o644))
		said(t, "measure", "log.csv", "--column", "load="+text)
	}
}

// told puts a text before every other in a JSON value, but for those that have to be one
// of a few.
func told(text string, at any) any {
	switch v := at.(type) {
	case map[string]any:
		for key, inner := range v {
			switch key {
			case "schema", "reason", "outcome", "machine_sha256", "event", "procedure":
			default:
				v[key] = told(text, inner)
			}
		}
	case []any:
		for i := range v {
			v[i] = told(text, v[i])
		}
	case string:
		return text + v
	}
	return at
}

// A record that somebody else has written, whose every text is hostile, and who has seen to
// the sums.
func TestHostileRecordTexts(t *testing.T) {
	made := t.TempDir()
	said(t, "loadstep", quick(t), "--virtual", "--brief", "--records", made)
	kept, err := filepath.Glob(made + "/2*")
	require.NoError(t, err)
	require.Len(t, kept, 1)
	for some := range slices.Chunk(hostile, 4) {
		text := strings.Join(some, " and ")
		records := filepath.Join(t.TempDir(), "runs")
		dir := filepath.Join(records, strings.ReplaceAll(text, "/", "|")+"run")
		require.NoError(t, os.CopyFS(dir, os.DirFS(kept[0])))
		for _, name := range []string{"run.json", "end.json", "result.json", "script.jsonl"} {
			file, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			d := json.NewDecoder(bytes.NewReader(file))
			d.UseNumber()
			var edited []byte
			for d.More() {
				var v any
				require.NoError(t, d.Decode(&v))
				line, err := json.Marshal(told(text, v))
				require.NoError(t, err)
				edited = append(append(edited, line...), '\n')
			}
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), edited, 0o644))
		}
		require.NoError(t, seal.Again(dir))
		for _, args := range readers(records, dir) {
			said(t, args...)
		}
		said(t, "show", "last", "--records", records)
		page, err := os.ReadFile(filepath.Join(records, "..", "page.html"))
		require.NoError(t, err, "it was made")
		harmlessText(t, "page", string(page))
	}
}

// What the programmer says, line by line, is told apart from what govrig says.
func TestHostileProgrammer(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, text := range hostile {
		name := filepath.Join(t.TempDir(), "avrdude")
		require.NoError(t, os.WriteFile("words", []byte(text), 0o644))
		words, err := filepath.Abs("words")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(name, []byte("#!/bin/sh\ncat "+words+"; exit 1\n"), 0o755))
		p, err := flash.At(name)
		require.NoError(t, err)
		image, err := flash.NewImage(firmware.Hex)
		require.NoError(t, err)
		failed := p.Write(context.Background(), "/dev/null", 115_200, image)
		require.Error(t, failed)
		var complaints strings.Builder
		fmt.Fprintln(cleaned(&complaints, nil), failed)
		harmlessText(t, "programmer", complaints.String())
		require.Contains(t, complaints.String(), "it said:")
	}
}

// readers are the commands that open a record in dir, in the folder records.
func readers(records, dir string) [][]string {
	page := filepath.Join(records, "..", "page.html")
	return [][]string{
		{"runs", "--records", records}, {"runs", "--json", "--records", records},
		{"show", dir}, {"report", dir, "--text"}, {"report", dir, "--json"}, {"report", dir, "-o", page},
		{"compare", dir, dir, "--records", records},
		{"export", dir, "--csv"}, {"export", dir, "--json"}, {"export", dir, "--vcd"}, {"replay", dir},
	}
}
