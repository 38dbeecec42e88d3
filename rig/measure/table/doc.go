// Package table measures a log that somebody else wrote and rig/measure/logfile
// reads: the dip or rise that a load leaves, the band and the hunting, each by its
// published convention. With a machine file the speeds are those of the head, and
// limits are those of the setting that was flown.
package table
