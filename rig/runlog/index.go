package runlog

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"

	"govrig/protocol/harmless"
)

// indexFile is the index of a folder of records: what a list tells of each, so that
// they need not be read again. It can be deleted at any time.
const indexFile = ".index.json"

// indexSchema changes with whatever is told of a record, and with how it is checked.
const indexSchema = "govrig/index/1"

// mostIndex is the largest index that is read, in bytes.
const mostIndex = 256 << 20

// index is what an index file holds.
type index struct {
	Schema string              `json:"schema"`
	Runs   map[string]indexRow `json:"runs"` // by the names of their folders
}

// indexRow is one record. Stamp tells whether its files are still those that were
// read; it is empty where the folder is no record.
type indexRow struct {
	Stamp   string  `json:"stamp"`
	Summary Summary `json:"summary"`
}

// readIndex reads the index of a folder. One that cannot be read is as good as none.
func readIndex(runs string) *index {
	var x index
	text, err := readBounded(filepath.Join(runs, indexFile), mostIndex)
	if err != nil || json.Unmarshal(text, &x) != nil || x.Schema != indexSchema || x.Runs == nil {
		return &index{indexSchema, map[string]indexRow{}}
	}
	return &x
}

// row tells of the folder of that name. What begins with a dot is no record.
func (x *index) row(runs, name string) indexRow {
	if name[0] == '.' {
		return indexRow{}
	}
	dir := filepath.Join(runs, name)
	stamp := stampOf(dir)
	row := x.Runs[name]
	if row.Stamp != stamp {
		return indexRow{stamp, summarize(dir)}
	}
	harmless.Lines(&row.Summary) // somebody else may have written it
	row.Summary.Run = name
	return row
}

// renew writes the index where it has changed. Where that cannot be, the next list
// takes longer.
func (x *index) renew(runs string, rows []indexRow) {
	now := index{indexSchema, map[string]indexRow{}}
	for _, row := range rows {
		if row.Stamp != "" {
			now.Runs[row.Summary.Run] = row
		}
	}
	if maps.Equal(now.Runs, x.Runs) {
		return
	}
	text, err := json.Marshal(now)
	if err != nil {
		return
	}
	f, err := os.CreateTemp(runs, indexFile+"-")
	if err != nil {
		return
	}
	_, err = f.Write(text)
	if f.Close() != nil || err != nil || os.Rename(f.Name(), filepath.Join(runs, indexFile)) != nil {
		_ = os.Remove(f.Name())
	}
}

// stampOf gives what changes when a file of the record in dir does: the lengths and
// the times of its files. It is empty where dir has none of them and is not empty: it
// is no record.
func stampOf(dir string) string {
	var stamp bytes.Buffer
	some := false
	for _, name := range []string{infoFile, machineFile, resultFile, sumsFile, endFile, samplesFile, samplesOneFile, spareFile} {
		info, err := os.Lstat(filepath.Join(dir, name))
		if err != nil {
			stamp.WriteByte('-')
			continue
		}
		some = true
		fmt.Fprintf(&stamp, "%x.%x,", info.Size(), info.ModTime().UnixNano())
	}
	if !some && !empty(dir) {
		return ""
	}
	return stamp.String()
}

// empty reports whether dir is a folder with nothing in it: a program that is killed
// as it begins a record leaves such a one.
func empty(dir string) bool {
	f, err := os.Open(dir)
	if err != nil {
		return false
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.IsDir() {
		return false
	}
	names, _ := f.Readdirnames(1)
	return len(names) == 0
}
