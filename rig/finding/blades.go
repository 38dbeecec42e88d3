package finding

import "fmt"

// BeyondBlades says that the head turned faster than the blade maker allows; speeds
// are rpm of the head. Of a greatest speed of 0, not known, nothing is said.
func BeyondBlades(reached, greatest float64) (sentence string, beyond bool) {
	if greatest <= 0 || reached <= greatest {
		return "", false
	}
	return fmt.Sprintf("The head reached %.0f rpm, and the blade maker allows %.0f: blades can come off. Start no engine with this governor until it keeps below.", reached, greatest), true
}
