package runlog

import (
	"encoding/json"
	"fmt"
	"strings"
)

// mostDepth is deeper than anything in a record.
const mostDepth = 64

// decode reads a JSON text from outside: one value, no deeper than mostDepth, no
// key twice in an object. Of a key that stands there twice, one reader takes the
// first and another the last.
func decode(text []byte, v any) error {
	if err := single(text); err != nil {
		return err
	}
	return json.Unmarshal(text, v)
}

// level is an object or a list that is open.
type level struct {
	object bool
	keys   []string
	many   map[string]bool // in place of keys, where there are many
}

// single walks through a JSON text, which need not be right in other ways.
func single(text []byte) error {
	var open []level
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '{', '[':
			if len(open) == mostDepth {
				return fmt.Errorf("at byte %d it is deeper than %d levels", i, mostDepth)
			}
			open = append(open, level{object: text[i] == '{'})
		case '}', ']':
			if len(open) > 0 {
				open = open[:len(open)-1]
			}
		case '"':
			start := i
			for i++; i < len(text) && text[i] != '"'; i++ {
				if text[i] == '\\' {
					i++
				}
			}
			if i >= len(text) || len(open) == 0 || !open[len(open)-1].object || !colon(text[i+1:]) {
				continue
			}
			if key := text[start : i+1]; !open[len(open)-1].add(key) {
				return fmt.Errorf("at byte %d the key %.50q stands for the second time", start, key)
			}
		}
	}
	return nil
}

// colon reports whether a colon comes next.
func colon(text []byte) bool {
	for _, c := range text {
		switch c {
		case ' ', '\t', '\n', '\r':
		default:
			return c == ':'
		}
	}
	return false
}

// add notes a key, in which the case of letters makes no difference, and reports
// whether it is new.
func (l *level) add(quoted []byte) bool {
	var key string
	if json.Unmarshal(quoted, &key) != nil {
		return true // the decoder refuses it
	}
	key = strings.ToLower(key)
	if l.many == nil {
		for _, k := range l.keys {
			if k == key {
				return false
			}
		}
		if l.keys = append(l.keys, key); len(l.keys) == 32 {
			l.many = map[string]bool{}
			for _, k := range l.keys {
				l.many[k] = true
			}
		}
		return true
	}
	if l.many[key] {
		return false
	}
	l.many[key] = true
	return true
}
