package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/record/altered/formone"
	"govrig/rig/record/altered/seal"
	"govrig/rig/runlog/block"
)

var damages = flag.Int("damages", 40, "mutations of whole records")

// longest is how long a command may take for a short record, damaged as it may be, on a
// computer that does many other things.
const longest = 60 * time.Second

// takes runs a command on a record that may be damaged: it ends, without a panic; what
// it shows is harmless and JSON is JSON; and it either works or says what is wrong.
func takes(t *testing.T, what string, args ...string) (code int, out, complaints string) {
	t.Helper()
	done := make(chan string, 1)
	go func() {
		defer func() {
			if r := recover(); r != nil {
				done <- fmt.Sprintf("panic: %v\n%s", r, debug.Stack())
			}
		}()
		code, out, complaints = command("", args...)
		done <- ""
	}()
	select {
	case failed := <-done:
		require.Empty(t, failed, "%s: %v", what, args)
	case <-time.After(longest):
		require.Fail(t, "it hangs", "%s: %v", what, args)
	}
	harmlessText(t, what, out)
	harmlessText(t, what, complaints)
	require.Contains(t, []int{exitPass, exitFail, exitUsage}, code, "%s: %v: %s", what, args, complaints)
	if code == exitUsage {
		require.NotEmpty(t, complaints, "%s: %v", what, args)
	}
	if strings.Contains(strings.Join(args, " "), "--json") && out != "" {
		require.True(t, json.Valid([]byte(out)), "%s: %v: %.300q", what, args, out)
	}
	return code, out, complaints
}

// aLoadStep is the first of those that recorded makes.
func aLoadStep(t *testing.T) string {
	for _, dir := range recorded(t) {
		if strings.HasSuffix(dir, "-loadstep") {
			return dir
		}
	}
	require.Fail(t, "no load step")
	return ""
}

// recorded makes whole records by commands, and gives their folders: of form 2, of form 1,
// and of runs that were cut off.
func recorded(t *testing.T) (all []string) {
	made := t.TempDir()
	machine := quick(t)
	for _, args := range [][]string{{"selftest"}, {"loadstep", machine}, {"hold", machine, "--time", "1s"}} {
		code, _, complaints := command("", append(args, "--virtual", "--records", made)...)
		require.Equal(t, exitPass, code, complaints)
	}
	kept, err := filepath.Glob(made + "/2*")
	require.NoError(t, err)
	for _, dir := range kept {
		older, cut := dir+"-one", dir+"-cut"
		require.NoError(t, errors.Join(os.CopyFS(older, os.DirFS(dir)), os.CopyFS(cut, os.DirFS(dir))))
		require.NoError(t, formone.Rewrite(older))
		require.NoError(t, os.Remove(filepath.Join(cut, "end.json")))
		all = append(all, dir, older, cut)
		if !strings.HasSuffix(dir, "-loadstep") { // the longest
			all = append(all, dir, dir, dir, older)
		}
	}
	return all
}

// Whatever happens to the files of a record, every command that opens it says what is
// wrong, or shows it.
func TestDamagedRecords(t *testing.T) {
	whole := recorded(t)
	random := rand.New(rand.NewPCG(14, 4))
	refused, shown := 0, 0
	for i := range *damages {
		records := filepath.Join(t.TempDir(), "runs")
		dir := filepath.Join(records, "run")
		from := whole[random.IntN(len(whole))]
		require.NoError(t, os.CopyFS(dir, os.DirFS(from)))
		what := fmt.Sprintf("%d: %s: %s", i, filepath.Base(from), mutate(random, dir))
		for _, args := range readers(records, dir) {
			if code, _, _ := takes(t, what, args...); code == exitUsage {
				refused++
			} else {
				shown++
			}
		}
		require.NoError(t, os.RemoveAll(records))
	}
	t.Logf("%d mutations of whole records: %d commands said what is wrong, %d worked; none panicked, hung or gave what is no JSON", *damages, refused, shown)
	require.Positive(t, refused)
	require.Positive(t, shown)
}

// Records that somebody has made by hand, who knows the form. Each is refused, in words,
// by every command that opens it, and stands in the list.
func TestHostileRecords(t *testing.T) {
	whole := aLoadStep(t)
	edit := func(name, old, new string) func(string) error {
		return func(dir string) error {
			path := filepath.Join(dir, name)
			b, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			text := strings.Replace(string(b), old, new, 1)
			if text == string(b) {
				return fmt.Errorf("%s has no %s", name, old)
			}
			return errors.Join(os.WriteFile(path, []byte(text), 0o644), seal.Again(dir))
		}
	}
	for name, tt := range map[string]struct {
		change func(dir string) error
		says   string
	}{
		"a tick rate of 0":         {edit("run.json", `"tick_hz": 16000000`, `"tick_hz": 0`), "tick_hz is 0"},
		"a key twice":              {edit("run.json", `"virtual": true`, `"virtual": true, "Virtual": false`), "stands for the second time"},
		"a limit that is misspelt": {edit("result.json", `"max":`, `"maximum":`), "a limit needs a lower or an upper end"},
		"a measure that passes":    {edit("result.json", `"outcome": "pass"`, `"outcome": "fail"`), "result.json: its outcome is"},
		"a number beyond all":      {edit("end.json", `"samples": `, `"samples": 9000000`), "make no sense"},
		"deep":                     {edit("end.json", `"reason"`, `"x": `+strings.Repeat("[", 70)+strings.Repeat("]", 70)+`, "reason"`), "deeper than 64 levels"},
		"a name that leads away": {func(dir string) error {
			return rewrite(dir+"/sums.json", func(b []byte) []byte { return bytes.Replace(b, []byte(`"run.json"`), []byte(`"../run/run.json"`), 1) })
		}, "run.json was not there when the run was finished"},
		"an edited machine": {func(dir string) error { return os.WriteFile(dir+"/machine.yaml", []byte("x"), 0o644) }, "machine.yaml is not as it was"},
		"no sums":           {func(dir string) error { return os.Remove(dir + "/sums.json") }, "sums.json is missing, though the run was finished"},
		"a link without end": {func(dir string) error {
			return instead(dir+"/result.json", func() error { return os.Symlink("/dev/zero", dir+"/result.json") })
		}, "is a link and no file"},
		"a pipe": {func(dir string) error {
			return instead(dir+"/run.json", func() error { return syscall.Mkfifo(dir+"/run.json", 0o644) })
		}, "is a pipe and no file"},
		"10 GB":       {func(dir string) error { return os.Truncate(dir+"/machine.yaml", 10<<30) }, "is not as it was"},
		"nothing yet": {func(dir string) error { return errors.Join(os.RemoveAll(dir), os.Mkdir(dir, 0o755)) }, "killed before its record began"},
	} {
		t.Run(name, func(t *testing.T) {
			records := filepath.Join(t.TempDir(), "runs")
			dir := filepath.Join(records, "run")
			require.NoError(t, os.CopyFS(dir, os.DirFS(whole)))
			require.NoError(t, tt.change(dir))
			for _, args := range readers(records, dir) {
				code, out, complaints := takes(t, name, args...)
				if args[0] != "runs" {
					require.Equal(t, exitUsage, code, args)
					require.Empty(t, out, args)
					require.Contains(t, complaints, tt.says, args)
				} else if !strings.HasPrefix(tt.says, "result.json:") && !strings.HasPrefix(tt.says, "a limit") { // which a list does not look into
					require.Contains(t, out, "damaged", args)
					require.Contains(t, complaints, tt.says, args)
				}
			}
		})
	}
}

// A file of samples that unpacks to a thousand times its size takes no more memory than
// another, and one of nothing but such blocks is told from a record.
func TestRecordThatUnpacksWithoutEnd(t *testing.T) {
	whole := aLoadStep(t)
	records := filepath.Join(t.TempDir(), "runs")
	dir := filepath.Join(records, "run")
	require.NoError(t, os.CopyFS(dir, os.DirFS(whole)))
	f, err := os.OpenFile(dir+"/samples.bin", os.O_WRONLY|os.O_TRUNC, 0)
	require.NoError(t, err)
	b := block.Writer{Pack: true}
	b.Begin(block.MaxRows)
	for range 12 {
		b.Ints(make([]int64, block.MaxRows), 0)
	}
	bomb := b.Append(nil)
	require.Less(t, len(bomb), 1000, "of some 200 kB")
	for range 100 {
		_, err = f.Write(bomb)
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())
	require.NoError(t, seal.Again(dir))
	for _, args := range readers(records, dir) {
		if code, _, complaints := takes(t, "bombs", args...); args[0] != "runs" && args[0] != "replay" && args[len(args)-1] != "--vcd" { // which do not read samples
			require.Equal(t, exitUsage, code, "%v", args)
			require.Contains(t, complaints, "samples.bin has ", args)
		}
	}
}
