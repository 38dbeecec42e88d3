// Package pen draws every picture of the program, in one look, as SVG: charts of
// stacked panels over one horizontal axis, and free drawings on a Canvas. It
// knows numbers and no runs.
//
// A drawing stands inside an HTML page, whose Style is the pen's, or alone in a
// file that brings its colours along. Either way they follow light, dark and
// print; lines differ in dash and weight as well as in colour, so that none is
// needed to read them. A drawing has no identifiers, so that any number of them
// stands on one page, and the same input gives the same bytes.
package pen
