// Package words sets text for people: numbers with the digits that count, signs
// as they are printed, and paragraphs broken into lines. It knows nothing of
// what the words are about.
package words
