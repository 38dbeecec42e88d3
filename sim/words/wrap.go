package words

import (
	"strings"
	"unicode/utf8"
)

// Columns is the widest line of text for a person.
const Columns = 98

// Wrap breaks text into lines of at most so many columns where a word allows it:
// first stands before the first line, rest before each other. Spaces at the end
// of a line are left out; the last line ends as the others do.
func Wrap(first, rest, text string, columns int) string {
	var b strings.Builder
	line, empty := first, true
	for _, word := range strings.Fields(text) {
		if !empty && Width(line)+1+Width(word) > columns {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line, empty = rest, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	return b.String() + strings.TrimRight(line, " ") + "\n"
}

// Hang is Wrap with the further lines below the first word, in Columns.
func Hang(first, text string) string {
	return Wrap(first, strings.Repeat(" ", Width(first)), text, Columns)
}

// Indent is Wrap with the further lines four columns right of where first
// begins, in Columns.
func Indent(first, text string) string {
	return Wrap(first, strings.Repeat(" ", len(first)-len(strings.TrimLeft(first, " "))+4), text, Columns)
}

// Width is how many columns text takes.
func Width(text string) int { return utf8.RuneCountInString(text) }

// Left puts spaces before text up to a width, Right behind it.
func Left(text string, width int) string {
	return strings.Repeat(" ", max(0, width-Width(text))) + text
}

// Right puts spaces behind text up to a width.
func Right(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-Width(text)))
}
