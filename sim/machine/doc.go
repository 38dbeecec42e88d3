// Package machine reads the machine file: the description, for one helicopter,
// of everything that a governor works with.
//
// The file is YAML of our own format. Quantities are written with their unit
// ("8.5 mm", "120 g·m²"); a bare number is refused where a unit belongs. Every
// fault is shown with file, line, column, the text and what would be right, and
// as many faults as can be told apart are reported together.
//
// Machine holds the file in SI. Its Params methods give the parameters of the
// simulated parts; a Machine from Parse has parameters that are all valid.
package machine
