package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/protocol/harmless"
)

// Row is one sample. Throttle and Load are NaN where the log has none.
type Row struct{ Time, Speed, Throttle, Load float64 }

// ErrFormat is wrapped by every complaint about what a file holds.
var ErrFormat = errors.New("table")

const mostLine = 1 << 16 // bytes in one line

// What is read as time (as much as thirty years), speed, throttle and load is no more
// than this, in these units: beyond it something else stands in the column.
var (
	most  = [4]float64{1e9, mostSpeed, 1e6, 1e9}
	units = [4]string{"s", "rpm", "µs", "of whatever it is"}
)

// Read gives every row of a table in turn: a header line, then one sample a
// line, fields apart by comma, semicolon or tab (RFC 4180, but for line breaks
// within fields). Lines that begin with # are left out. It returns what the
// person should know about how the file was read.
//
// Times must not go back. Rows that repeat a time are put together into one,
// their mean. A last line without a line end is left out, for it may be torn.
func Read(r io.Reader, c Columns, each func(Row)) (notes []string, err error) {
	p := parser{columns: c, merge: merger{each: each}}
	lines := bufio.NewReaderSize(r, mostLine)
	for {
		line, err := lines.ReadSlice('\n')
		p.line++
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			return nil, fmt.Errorf("%w: line %d is longer than %d bytes; is it a table?", ErrFormat, p.line, mostLine)
		case err != nil && !errors.Is(err, io.EOF):
			return nil, err
		case err != nil:
			return p.end(line)
		}
		if err := p.take(bytes.TrimRight(line, "\r\n")); err != nil {
			return nil, err
		}
	}
}

// parser is the state of reading.
type parser struct {
	columns Columns
	line    int
	header  []string
	at      [4]int
	comma   byte
	fields  [][]byte
	merge   merger
	pending error // of a short line, forgiven when it is the last

	decimals, empty int // counts for the notes
}

func (p *parser) take(line []byte) error {
	if p.line == 1 {
		line = bytes.TrimPrefix(line, []byte("\ufeff"))
	}
	if len(bytes.TrimSpace(line)) == 0 || line[0] == '#' {
		return nil
	}
	if p.pending != nil {
		return p.pending
	}
	if p.header == nil {
		return p.begin(line)
	}
	return p.sample(line)
}

// begin reads the header.
func (p *parser) begin(line []byte) error {
	p.comma = ','
	for _, c := range []byte{';', '\t'} {
		if bytes.IndexByte(line, c) >= 0 {
			p.comma = c
			break
		}
	}
	if err := p.split(line); err != nil {
		return err
	}
	for _, f := range p.fields {
		p.header = append(p.header, harmless.Line(strings.TrimSpace(string(f))))
	}
	at, err := p.columns.places(p.header)
	if err != nil {
		return fmt.Errorf("%w: line %d: %w", ErrFormat, p.line, err)
	}
	p.at = at
	return nil
}

// sample reads a line of numbers.
func (p *parser) sample(line []byte) error {
	if err := p.split(line); err != nil {
		return err
	}
	if len(p.fields) != len(p.header) {
		err := p.mismatch()
		if len(p.fields) < len(p.header) {
			p.pending = err
			return nil
		}
		return err
	}
	var v [4]float64
	for i, at := range p.at {
		v[i] = math.NaN()
		if at < 0 {
			continue
		}
		x, err := p.number(p.fields[at])
		if err != nil {
			return fmt.Errorf("%w: line %d, %s: %w", ErrFormat, p.line, p.header[at], err)
		}
		if math.Abs(x) > most[i] { // NaN is an empty field
			return fmt.Errorf("%w: line %d, %s: %g makes no sense there: beyond %g %s", ErrFormat, p.line, p.header[at], x, most[i], units[i])
		}
		v[i] = x
	}
	if math.IsNaN(v[0]) {
		return fmt.Errorf("%w: line %d: the time is missing", ErrFormat, p.line)
	}
	if math.IsNaN(v[1]) {
		p.empty++
		return nil
	}
	if err := p.merge.add(Row{v[0], v[1], v[2], v[3]}); err != nil {
		return fmt.Errorf("%w: line %d: %w", ErrFormat, p.line, err)
	}
	return nil
}

func (p *parser) mismatch() error {
	hint := ""
	if p.comma == ',' && len(p.fields) > len(p.header) {
		hint = "; if the numbers have decimal commas, put semicolons between the fields"
	}
	return fmt.Errorf("%w: line %d has %d fields where the header has %d%s",
		ErrFormat, p.line, len(p.fields), len(p.header), hint)
}

// end closes the table; rest is what stands behind the last line end.
func (p *parser) end(rest []byte) ([]string, error) {
	if p.header == nil {
		if len(rest) > 0 { // a header and no line end
			if err := p.take(rest); err != nil {
				return nil, err
			}
		}
		return nil, fmt.Errorf("%w: the file holds no samples", ErrFormat)
	}
	if p.pending != nil && len(bytes.TrimSpace(rest)) > 0 {
		return nil, p.pending
	}
	p.merge.flush()
	if p.merge.rows == 0 {
		return nil, fmt.Errorf("%w: the file holds no samples", ErrFormat)
	}
	return p.notes(rest), nil
}

func (p *parser) notes(rest []byte) (notes []string) {
	note := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if len(bytes.TrimSpace(rest)) > 0 {
		note("the last line has no line end and was left out: it may be torn")
	}
	if p.pending != nil {
		note("the last line is short and was left out: it is torn")
	}
	if p.decimals > 0 {
		note("decimal commas were read as decimal points")
	}
	if p.empty > 0 {
		note("%d rows without a speed were left out", p.empty)
	}
	if p.merge.repeated > 0 {
		note("%d rows repeat the time of the row before; rows of one time were put together as their mean", p.merge.repeated)
	}
	return notes
}
