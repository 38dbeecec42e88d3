package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"govrig/rig/record/altered/seal"
)

// mutation changes one file of a record, and says how.
type mutation func(random *rand.Rand, path string) (how string, err error)

// mutations of any file.
var mutations = []mutation{
	func(random *rand.Rand, path string) (string, error) {
		return "bits turned", rewrite(path, func(b []byte) []byte {
			for range 1 + random.IntN(4) {
				if len(b) > 0 {
					b[random.IntN(len(b))] ^= 1 << random.IntN(8)
				}
			}
			return b
		})
	},
	func(random *rand.Rand, path string) (string, error) {
		return "cut", rewrite(path, func(b []byte) []byte { return b[:random.IntN(len(b)+1)] })
	},
	func(random *rand.Rand, path string) (string, error) {
		return "a piece twice", rewrite(path, func(b []byte) []byte {
			at := random.IntN(len(b) + 1)
			return slices.Concat(b[:at], b[random.IntN(at+1):at], b[at:])
		})
	},
	func(random *rand.Rand, path string) (string, error) {
		return "a piece of noise", rewrite(path, func(b []byte) []byte {
			at := random.IntN(len(b) + 1)
			noise := make([]byte, random.IntN(300))
			for i := range noise {
				noise[i] = byte(random.Uint32())
			}
			return slices.Concat(b[:at], noise, b[min(len(b), at+random.IntN(300)):])
		})
	},
	func(random *rand.Rand, path string) (string, error) {
		return "lines in another order", rewrite(path, func(b []byte) []byte {
			lines := bytes.SplitAfter(b, []byte{'\n'})
			random.Shuffle(len(lines), func(i, k int) { lines[i], lines[k] = lines[k], lines[i] })
			return bytes.Join(lines, nil)
		})
	},
	func(random *rand.Rand, path string) (string, error) { return "removed", os.Remove(path) },
	func(random *rand.Rand, path string) (string, error) {
		target := []string{"/dev/zero", "/dev/urandom", "/dev/stdin", "nowhere", "..", "/proc/self/mem", "run.json"}[random.IntN(7)]
		return "a link to " + target, instead(path, func() error { return os.Symlink(target, path) })
	},
	func(random *rand.Rand, path string) (string, error) {
		return "a pipe", instead(path, func() error { return syscall.Mkfifo(path, 0o644) })
	},
	func(random *rand.Rand, path string) (string, error) {
		return "a folder", instead(path, func() error { return os.Mkdir(path, 0o755) })
	},
	func(random *rand.Rand, path string) (string, error) {
		return "10 GB, mostly of nothing", rewriteSize(path, 10<<30)
	},
	func(random *rand.Rand, path string) (string, error) {
		others := []string{"run.json", "end.json", "result.json", "script.jsonl", "wire.bin", "samples.bin", "machine.yaml"}
		other := others[random.IntN(len(others))]
		var b []byte
		err := rewrite(filepath.Join(filepath.Dir(path), other), func(is []byte) []byte { b = is; return is })
		if err == nil {
			err = rewrite(path, func([]byte) []byte { return b })
		}
		return "that which is in " + other, err
	},
}

// rewrite changes what is in a file, unless it is a link, a pipe or too long by now.
func rewrite(path string, change func([]byte) []byte) error {
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() || info.Size() > 100<<20 {
		return err
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return os.WriteFile(path, change(b), 0o644)
}

// rewriteSize sets the length of a plain file.
func rewriteSize(path string, size int64) error {
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		return err
	}
	return os.Truncate(path, size)
}

func instead(path string, put func() error) error {
	if err := os.Remove(path); err != nil {
		return err
	}
	return put()
}

// values that a JSON text may hold in the place of another.
var values = []string{
	"null", "true", "-1", "0", "1e308", "-1e308", "1e999", "1e-320", "9223372036854775807", "18446744073709551616", "4.5", `""`, `"x"`, "[]", "{}",
	"[null]", `[{}]`, `{"a":{}}`, `"../../../etc/passwd"`, `"fail"`, `"pass"`, `"complete"`, "NaN", "Infinity",
	strings.Repeat("[", 100) + strings.Repeat("]", 100), strings.Repeat(`{"a":`, 12_000) + "1" + strings.Repeat("}", 12_000),
	`"` + strings.Repeat("long ", 20_000) + `"`,
}

// mutateJSON puts another value somewhere into each line of a JSON text, or changes or
// repeats a key.
func mutateJSON(random *rand.Rand, path string) (string, error) {
	how := ""
	err := rewrite(path, func(b []byte) []byte {
		var all any
		line, rest := b, []byte(nil)
		if filepath.Ext(path) == ".jsonl" {
			lines := bytes.SplitAfter(b, []byte{'\n'})
			k := random.IntN(len(lines))
			line, rest = lines[k], bytes.Join(slices.Delete(lines, k, k+1), nil)
		}
		if json.Unmarshal(line, &all) != nil {
			return b
		}
		how = alter(random, &all)
		text, err := json.Marshal(all)
		if err != nil {
			return b
		}
		for i, v := range values {
			text = bytes.ReplaceAll(text, fmt.Appendf(nil, `"value-%d-"`, i), []byte(v))
		}
		if random.IntN(8) == 0 {
			how += ", all keys twice"
			text = append(text[:len(text)-1:len(text)-1], append([]byte(","), text[1:]...)...)
		}
		return append(append(text, '\n'), rest...)
	})
	return how, err
}

// alter changes something somewhere in a JSON value.
func alter(random *rand.Rand, at *any) string {
	switch v := (*at).(type) {
	case map[string]any:
		keys := slices.Sorted(maps.Keys(v))
		if len(keys) == 0 {
			break
		}
		key := keys[random.IntN(len(keys))]
		inner := v[key]
		switch random.IntN(10) {
		case 0:
			delete(v, key)
			return key + " left out"
		case 1:
			delete(v, key)
			v[key[:len(key)-1]] = inner
			return key + " misspelt"
		}
		if random.IntN(3) > 0 {
			how := alter(random, &inner)
			v[key] = inner
			return key + "." + how
		}
		how := alter(random, new(any))
		v[key] = how
		return key + "=" + how
	case []any:
		if len(v) == 0 || random.IntN(8) == 0 {
			break
		}
		k := random.IntN(len(v))
		return fmt.Sprintf("%d.%s", k, alter(random, &v[k]))
	case string:
		if random.IntN(3) == 0 {
			*at = hostile[random.IntN(len(hostile))] + v
			return "hostile"
		}
	}
	text := fmt.Sprintf("value-%d-", random.IntN(len(values)))
	*at = text
	return text
}

// mutate changes a record, in one place or a few, and says how.
func mutate(random *rand.Rand, dir string) (said string) {
	files, _ := os.ReadDir(dir)
	for range 1 + random.IntN(2) {
		name := files[random.IntN(len(files))].Name()
		m := mutations[random.IntN(len(mutations))]
		if strings.Contains(name, ".json") && random.IntN(3) > 0 {
			m = mutateJSON
		}
		how, err := m(random, filepath.Join(dir, name))
		said += fmt.Sprintf("%s: %s (%v); ", name, how, err)
	}
	if info, err := os.Stat(filepath.Join(dir, "sums.json")); err == nil && info.Mode().IsRegular() && random.IntN(3) > 0 && small(dir) {
		said += fmt.Sprintf("sealed again (%v)", seal.Again(dir))
	}
	return said
}

// small reports whether all files of a record can be read whole.
func small(dir string) bool {
	files, _ := os.ReadDir(dir)
	for _, f := range files {
		info, err := f.Info()
		if err != nil || !info.Mode().IsRegular() || info.Size() > 100<<20 {
			return false
		}
	}
	return true
}
