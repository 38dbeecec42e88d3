package machine

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Nesting deeper than any machine needs takes the YAML reader long; these keep
// it out.
const (
	maxBrackets = 500
	maxLine     = 1000 // bytes
)

const wantMapping = "the file is keys with their values, such as “name: My machine”; govrig new writes one to fill in"

// read turns the bytes into the mapping at the top of the file, or nil after a
// fault.
func (d *decoder) read(data []byte) ast.Node {
	if wide(data) {
		d.failAt(wholeFile, "", "the file is UTF-16 text", "save it as UTF-8: most editors offer that beside the file's name")
		return nil
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n")) // the YAML reader miscounts lines
	if !d.readable(data) {
		return nil
	}
	file, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		d.syntax(err)
		return nil
	}
	return d.single(file)
}

// wide reports whether text is in UTF-16, with or without a mark of byte order.
func wide(data []byte) bool {
	if len(data) < 4 {
		return false
	}
	marked := data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff
	return marked || data[0] == 0 && data[2] == 0 || data[1] == 0 && data[3] == 0
}

// readable splits the text into lines and refuses what no YAML reader should
// see.
func (d *decoder) readable(data []byte) bool {
	if len(data) > MaxSize {
		d.failAt(wholeFile, "", fmt.Sprintf("the file is larger than %d KiB", MaxSize>>10), "a machine file is a few KiB; is this the right file?")
		return false
	}
	d.lines = strings.Split(string(data), "\n")
	brackets := 0
	for i, line := range d.lines {
		if column, problem, remedy := badLine(line); problem != "" {
			d.failAt(place{line: i + 1, column: column}, "", problem, remedy)
		}
		brackets += strings.Count(line, "[") + strings.Count(line, "{")
	}
	if brackets > maxBrackets {
		d.failAt(wholeFile, "", "the file has too many brackets", "write one key to a line")
	}
	return len(d.faults) == 0
}

// badLine tells what makes a line unreadable, and at which character.
func badLine(line string) (column int, problem, remedy string) {
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	switch {
	case !utf8.ValidString(line):
		return 1, "this line is not UTF-8", "save the file as UTF-8 text"
	case len(line) > maxLine:
		return 1, "this line is too long", fmt.Sprintf("keep it below %d characters", maxLine)
	case control(line) >= 0:
		return utf8.RuneCountInString(line[:control(line)]) + 1, "a control character", "remove it; is this a text file?"
	case strings.Contains(indent, "\t") && indent != line:
		return strings.IndexByte(indent, '\t') + 1, "a tab in the indentation", "indent with spaces"
	}
	return 0, "", ""
}

// control is where a line has a control character other than a tab, or -1.
func control(line string) int {
	return strings.IndexFunc(line, func(r rune) bool {
		return r < ' ' && r != '\t' || r == 0x7f || r == '\ufeff' || r == '\u2028' || r == '\u2029' || r == '\u0085'
	})
}

// syntax reports what the YAML reader refused.
func (d *decoder) syntax(err error) {
	at, problem := wholeFile, err.Error()
	var fault yaml.Error
	if errors.As(err, &fault) {
		problem = fault.GetMessage()
		if t := fault.GetToken(); t != nil {
			at = tokenPlace(t)
		}
	}
	d.failAt(at, "", "this is not YAML: "+printable(problem), "check the colon, the quotes and the indentation here")
}

// single refuses all but one document with a mapping in it.
func (d *decoder) single(file *ast.File) ast.Node {
	var body ast.Node
	for _, doc := range file.Docs {
		if body != nil {
			at := wholeFile
			if doc.Start != nil {
				at = tokenPlace(doc.Start)
			} else if doc.Body != nil {
				at = nodePlace(doc.Body)
			}
			d.failAt(at, "", "a second document begins here", "keep one machine to a file")
			return nil
		}
		body = doc.Body
		if directive, ok := body.(*ast.DirectiveNode); ok {
			d.failAt(nodePlace(directive), "", "a directive", "leave it out; a machine file needs none")
			return nil
		}
	}
	if body == nil {
		d.failAt(wholeFile, "", "the file is empty", wantMapping)
		return nil
	}
	return body
}

// place is a stretch of characters on one line, both counted from 1.
type place struct {
	line, column int
	text         string
	whole        bool
}

// wholeFile is the place of what concerns no line in particular.
var wholeFile = place{line: 1, column: 1, whole: true}

func tokenPlace(t *token.Token) place {
	p := place{line: 1, column: 1, text: t.Value}
	if t.Position != nil {
		p.line, p.column = max(1, t.Position.Line), max(1, t.Position.Column)
	}
	return p
}

func nodePlace(n ast.Node) place {
	switch n := n.(type) {
	case *ast.MappingNode:
		if n.IsFlowStyle || len(n.Values) == 0 {
			return tokenPlace(n.GetToken())
		}
		return nodePlace(n.Values[0].Key)
	case *ast.MappingValueNode:
		return nodePlace(n.Key)
	}
	return tokenPlace(n.GetToken())
}
