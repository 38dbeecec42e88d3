package keyfile

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// ErrByHand is a change that only an editor can make: the value, or the section
// it belongs into, is not written one key to a line.
var ErrByHand = errors.New("it is not written one key to a line there; change it with an editor")

var quotedValue = regexp.MustCompile(`^("(?:[^"\\]|\\.)*"|'(?:[^']|'')*')`)

// A key with its value on one line, and what stands behind it. The value is
// quoted, or goes to the end or to a remark.
var keyLine = regexp.MustCompile(`^( *(?:- +)*)([a-z_0-9]+)( *: +)("(?:[^"\\]|\\.)*"|'[^']*'|[^"'#\[{&*!|>][^#]*?)( *| +#.*)$`)

// Set gives the text of a file with another value at the path of a field; with
// an empty one the key is left out. No other line changes by a byte. The text
// has to be that of a file that could be read into fields; the value is not
// checked.
func (f *File) Set(text, path, value string, into any) (string, error) {
	r := f.Read("", []byte(text), into)
	k := r.keyAt(path)
	if k == nil {
		return "", fmt.Errorf("%s: there is no such key", Printable(path))
	}
	if k.Kind == Text && k.OneOf == nil {
		value = quotedText(value)
	}
	lines := strings.Split(text, "\n")
	_, given := r.written[path]
	switch {
	case given:
		return r.change(lines, k, path, value)
	case value == "":
		return text, nil
	}
	return r.insert(lines, k, path, value)
}

// quotedText writes a text so that every YAML reader takes it for one.
func quotedText(value string) string {
	if value == "" {
		return ""
	}
	return strconv.Quote(value)
}

// keyAt is the key of a path in this file, or nil.
func (r *Reader) keyAt(path string) *Key {
	for _, field := range r.Fields() {
		if field.Path == path {
			return field.Key
		}
	}
	return nil
}

// change writes another value in the place of the one that stands, or puts its
// line behind a #.
func (r *Reader) change(lines []string, k *Key, path, value string) (string, error) {
	at := r.places[path]
	line := []rune(lines[at.line-1])
	if value == "" {
		part := keyLine.FindStringSubmatch(strings.TrimSuffix(lines[at.line-1], "\r"))
		if part == nil || part[2] != k.Name || strings.Contains(part[1], "-") {
			return "", ErrByHand
		}
		lines[at.line-1] = part[1] + "#" + lines[at.line-1][len(part[1]):]
		return strings.Join(lines, "\n"), nil
	}
	before, behind := line[:at.column-1], string(line[at.column-1:])
	stands := quotedValue.FindString(behind)
	if block := strings.HasPrefix(at.text, "|") || strings.HasPrefix(at.text, ">"); stands == "" && !block && strings.HasPrefix(behind, at.text) {
		stands = at.text
	}
	if stands == "" {
		return "", ErrByHand
	}
	lines[at.line-1] = string(before) + value + behind[len(stands):]
	return strings.Join(lines, "\n"), nil
}

// insert writes a key that was left out: in the place of the line that shows it
// behind a #, or below the last line of its section.
func (r *Reader) insert(lines []string, k *Key, path, value string) (string, error) {
	first, last, indent, ok := r.block(parent(path), lines)
	if !ok {
		return "", ErrByHand
	}
	line := indent + k.Name + ": " + value
	shown := regexp.MustCompile(`^` + indent + `# ?` + k.Name + `:( |\r?$)`)
	begins := strings.HasPrefix(strings.TrimLeft(lines[first], " "), "- ") // what is above is of the entry before
	for first > 0 && !begins && blankOrRemark(lines[first-1]) {
		first--
	}
	for i := first; i < len(lines) && (i <= last || blankOrRemark(lines[i])); i++ {
		if shown.MatchString(lines[i]) {
			lines[i] = line + cr(lines[i])
			return strings.Join(lines, "\n"), nil
		}
	}
	rest := append([]string{line + cr(lines[last])}, lines[last+1:]...)
	return strings.Join(append(lines[:last+1:last+1], rest...), "\n"), nil
}

// block is where the values of a section stand and how far they are indented.
func (r *Reader) block(section string, lines []string) (first, last int, indent string, ok bool) {
	first, last = len(lines), -1
	for path, at := range r.places {
		if _, value := r.written[path]; !value || parent(path) != section {
			continue
		}
		part := keyLine.FindStringSubmatch(strings.TrimSuffix(lines[at.line-1], "\r"))
		if part == nil {
			return 0, 0, "", false
		}
		first, last = min(first, at.line-1), max(last, at.line-1)
		indent = strings.ReplaceAll(part[1], "-", " ")
	}
	return first, last, indent, last >= 0
}

func blankOrRemark(line string) bool {
	line = strings.TrimSpace(line)
	return line == "" || line[0] == '#'
}

func cr(line string) string {
	if strings.HasSuffix(line, "\r") {
		return "\r"
	}
	return ""
}
