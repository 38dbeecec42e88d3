// Package hunting finds a sustained oscillation of speed ("hunting: continuous
// fluctuation about the wanted speed", an engineman's definition) and tells it
// apart from noise, from noise that a lightly damped loop has coloured, and
// from a ring that dies away; and it names the likely cause from what the rig
// knows.
package hunting
