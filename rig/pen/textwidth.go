package pen

import "strings"

// textWidth is about how wide text is in a size of the pen's face, px: widths of
// Helvetica by class (Adobe Core 14 AFM files, from memory), on the safe side.
func textWidth(text string, size float64) float64 {
	em := 0.0
	for _, r := range text {
		switch {
		case strings.ContainsRune(" .,:;|!ijlftrI()[]/'", r):
			em += 0.34
		case strings.ContainsRune("mwMW%@", r):
			em += 0.9
		case r >= 'A' && r <= 'Z':
			em += 0.73
		default:
			em += 0.57
		}
	}
	return em * size
}
