// Package protocol holds the messages between the host and the board.
//
// This file's neighbour messages.go is the only place where a byte layout is
// written down, and limits.go the only one where the board's limits are. The Go code that packs and parses (wire_gen.go), the
// firmware's header (firmware-notes/firmware/wire.h) and the table for people
// (firmware-notes/wire.md) are generated from them; a test fails when one of
// them is out of date.
//
// # Rules of the wire
//
//   - A message is one frame (package frame). Its first byte is its id.
//   - Integers are unsigned and little endian, of one to four bytes.
//   - The last field of a message may be a list; how many items it has follows
//     from the frame's length.
//   - A name that ends in Ticks is a raw count of the board's clock: a span,
//     or a moment. A moment of three bytes holds the low 24 bits of the tick.
//   - Parsing takes any value of a field as it stands, and packing gives the
//     same bytes back. Ranges are the board's business: a Configure that is
//     out of range is refused as a whole, a Drive is cut to the board's limits.
//   - The first two bytes of Identify and of Identity never change, so that
//     two versions that do not understand each other can still say so.
package protocol

//go:generate go run ./internal/wiregen -root ..
