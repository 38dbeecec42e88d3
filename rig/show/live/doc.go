// Package live shows a procedure on a page of this computer while it runs: a
// Page looks on at a bench, takes its questions to whoever has the page open,
// and has a button that stops the run. It is the same for every board.
//
// The run never waits for a browser. What a page shows is of two kinds: what
// there is to know, which every browser gets whole whenever it has changed, and
// points of the curves, of which a browser that is too slow loses the oldest.
//
// Only this computer gets at it: it listens on the loopback address, looks at
// Host and Origin, so that no page from elsewhere can reach it through the
// browser, and its address holds a token that cannot be guessed.
package live
