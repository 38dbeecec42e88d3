// Package figure draws the figures of a report: stacked panels over one
// horizontal axis, with curves, limits drawn in as hatched ground that a curve
// must keep off, and marks. It knows numbers and no runs.
//
// A figure is inline SVG for an HTML page. Its colours are the page's own CSS
// variables, so that it follows light, dark and print; curves differ in dash
// and weight as well as in colour, so that none is needed to read it. Legends
// are left to the page.
package figure
