// Package runlog keeps a run on disk, one folder a run, and reads it back.
// FORMAT.md describes the files for whoever wants to write a reader.
//
// A record is written as the run goes. Whatever cuts the run off, what stands
// in the files is readable up to less than a tenth of a second of board time
// before the end: entries and lines are handed over every forty milliseconds,
// to a goroutine that writes them, so that a slow disk does not keep the loop
// waiting. On a board that runs in real time it also makes them safe against a
// loss of power; a board in lockstep with the host waits for the disk instead.
//
// When the disk takes no more, the record ends there and the run goes on: the
// governor is not dropped in the middle of a load for the sake of a file, and
// its result is still worth showing. The end then says why the record is
// short; a little space is set aside at the start for that.
package runlog
