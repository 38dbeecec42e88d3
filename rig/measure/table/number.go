package table

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
)

// split parts a line into its fields, without quotes.
func (p *parser) split(line []byte) error {
	p.fields = p.fields[:0]
	for {
		if len(line) > 0 && line[0] == '"' {
			field, rest, ok := quoted(line)
			if !ok || (len(rest) > 0 && rest[0] != p.comma) {
				return fmt.Errorf("%w: line %d: a quote is not closed", ErrFormat, p.line)
			}
			p.fields = append(p.fields, field)
			if len(rest) == 0 {
				return nil
			}
			line = rest[1:]
			continue
		}
		i := bytes.IndexByte(line, p.comma)
		if i < 0 {
			p.fields = append(p.fields, line)
			return nil
		}
		p.fields = append(p.fields, line[:i])
		line = line[i+1:]
	}
}

// quoted takes a field in quotes off the front of a line.
func quoted(line []byte) (field, rest []byte, ok bool) {
	for i := 1; i < len(line); i++ {
		if line[i] != '"' {
			continue
		}
		if i+1 < len(line) && line[i+1] == '"' {
			i++
			continue
		}
		field = bytes.ReplaceAll(line[1:i], []byte(`""`), []byte(`"`))
		return field, line[i+1:], true
	}
	return nil, nil, false
}

// number reads a field. An empty field and "nan" are a missing value, NaN.
func (p *parser) number(field []byte) (float64, error) {
	field = bytes.TrimSpace(field)
	if len(field) == 0 {
		return math.NaN(), nil
	}
	if i := bytes.IndexByte(field, ','); i >= 0 {
		if err := decimal(field, i, p.comma); err != nil {
			return 0, err
		}
		field = bytes.Replace(field, []byte{','}, []byte{'.'}, 1)
		p.decimals++
	}
	x, err := strconv.ParseFloat(string(field), 64)
	switch {
	case errors.Is(err, strconv.ErrRange), math.IsInf(x, 0):
		return 0, fmt.Errorf("%q is out of range", field)
	case err != nil:
		return 0, fmt.Errorf("%q is no number", field)
	}
	return x, nil
}

// decimal reports whether the comma at i can be taken for a decimal comma.
func decimal(field []byte, i int, separator byte) error {
	if bytes.IndexByte(field[i+1:], ',') >= 0 || bytes.IndexByte(field, '.') >= 0 {
		return fmt.Errorf("%q: write numbers without a separator of thousands", field)
	}
	if separator == ',' && len(field)-i == 4 && field[0] != '0' && field[0] != '-' {
		return fmt.Errorf("%q: is the comma one of thousands or of decimals? write a point, or no separator", field)
	}
	return nil
}

// merger puts rows of one time together and watches that time does not go
// back.
type merger struct {
	each     func(Row)
	held     Row // sums over the rows of one time
	n        float64
	rows     int
	repeated int
}

func (m *merger) add(r Row) error {
	switch {
	case m.n > 0 && r.Time < m.held.Time:
		return fmt.Errorf("time goes back from %g s to %g s", m.held.Time, r.Time)
	case m.n > 0 && r.Time == m.held.Time:
		m.repeated++
		m.n++
		m.held.Speed += r.Speed
		m.held.Throttle += r.Throttle
		m.held.Load += r.Load
		return nil
	}
	m.flush()
	m.held, m.n = r, 1
	return nil
}

func (m *merger) flush() {
	if m.n == 0 {
		return
	}
	m.each(Row{m.held.Time, m.held.Speed / m.n, m.held.Throttle / m.n, m.held.Load / m.n})
	m.rows++
	m.n = 0
}
