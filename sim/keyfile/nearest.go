package keyfile

import "strings"

// nearest gives the word that was most likely meant, or "".
func Nearest(given string, words []string) string {
	given = strings.ToLower(given)
	best, least := "", 1+len(given)/3
	for _, w := range words {
		if d := distance(given, w); d < least || d == least && best == "" {
			best, least = w, d
		}
	}
	return best
}

// distance is the least number of characters to add, drop or change that
// makes b out of a (Levenshtein 1965).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal = row[j]
			row[j] = min(change, 1+min(row[j], row[j-1]))
		}
	}
	return row[len(b)]
}

// either lists words for a hint: "gear or belt".
func either(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
