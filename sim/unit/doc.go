// Package unit reads quantities that are written with their unit, such as
// "8.5 mm" or "120 g·m²", into SI, and writes them back.
//
// Each quantity is a float64 type of its own that holds the SI value. The
// factor between a written unit and SI stands in one place, the table of
// dimensions.
package unit
