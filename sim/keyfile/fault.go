package keyfile

import (
	"fmt"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Fault is one thing that is wrong with a file.
type Fault struct {
	// File is the name that the file was read under.
	File string
	// Line and Column count from 1; Column counts characters.
	Line, Column int
	// Path names the key: "gears[0].driver". It is empty for the whole file.
	Path string
	// Text is what stands at that place.
	Text string
	// Problem says what is wrong, Remedy what would be right.
	Problem, Remedy string

	excerpt string
}

// Error gives place, problem and remedy on one line, then the line of the file
// with the text marked.
func (f *Fault) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d:%d: ", f.File, f.Line, f.Column)
	if f.Path != "" {
		fmt.Fprintf(&b, "%s: ", Printable(f.Path))
	}
	b.WriteString(f.Problem)
	if f.Remedy != "" {
		b.WriteString("; " + f.Remedy)
	}
	if f.excerpt != "" {
		b.WriteString("\n" + f.excerpt)
	}
	return b.String()
}

// Faults are all the faults found in a file, in the order of their places.
type Faults []*Fault

func (fs Faults) Error() string {
	var texts []string
	for _, f := range fs[:min(len(fs), shown)] {
		texts = append(texts, f.Error())
	}
	if more := len(fs) - shown; more > 0 {
		texts = append(texts, fmt.Sprintf("%s: and %d more", fs[0].File, more))
	}
	return strings.Join(texts, "\n")
}

// shown is how many faults Faults prints.
const shown = 25

// Unwrap gives each *Fault to errors.As.
func (fs Faults) Unwrap() []error {
	all := make([]error, len(fs))
	for i, f := range fs {
		all[i] = f
	}
	return all
}

func (fs Faults) sort() {
	sort.SliceStable(fs, func(i, j int) bool {
		a, b := fs[i], fs[j]
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
}

// excerptWidth is how many characters of a line an excerpt shows.
const excerptWidth = 90

// excerpt shows a line with a number of characters marked, from column on.
func excerpt(line string, number, column, marked int) string {
	runes := []rune(Printable(line))
	if len(runes) == 0 {
		return ""
	}
	from := max(0, min(column-1, len(runes)-1)-excerptWidth*2/3)
	to := min(len(runes), from+excerptWidth)
	at := min(max(column-1-from, 0), to-from)
	marked = min(max(marked, 1), max(to-from-at, 1))
	gutter := fmt.Sprintf("%5d", number)
	return fmt.Sprintf("%s | %s\n%s | %s%s", gutter, string(runes[from:to]),
		strings.Repeat(" ", len(gutter)), strings.Repeat(" ", at), strings.Repeat("^", marked))
}

// printable replaces what could upset a terminal, one character for one.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case r == utf8.RuneError || !unicode.IsPrint(r):
			return '·'
		}
		return r
	}, s)
}

// quote shows a text within a message, shortened if need be.
func Quote(s string) string {
	runes := []rune(Printable(s))
	if len(runes) > 40 {
		runes = append(runes[:37], '…')
	}
	return "“" + string(runes) + "”"
}
