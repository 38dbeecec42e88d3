// Package sheet works out the set-up sheet of a machine: gears, speeds, stored
// energy, throttle linkage, pickup, and whether the rig's board can play it
// all. It measures nothing and touches no port.
//
// New computes a Sheet from a Setup. WriteText lays it out for a person at a
// bench, WriteSVG draws the linkage, and the Sheet itself is the JSON document
// of schema govrig/sheet/1, with the unit at the end of each field's name.
package sheet
