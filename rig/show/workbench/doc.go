// Package workbench is the whole evening in one window, for people who do not
// like a terminal: the machine, the board, the tests and the paper, served to a
// browser on this computer. It computes nothing: the machine file is read and
// written by sim/keyfile, the tests are walked by rig/commission, the run is
// shown by rig/show/live, and the paper comes from rig/show/report.
package workbench
