package execution

import (
	"fmt"
	"io"
)

// Briefing is what the person is told before a procedure starts.
type Briefing struct {
	// Purpose is what it finds out, in one sentence.
	Purpose string
	// Connect says which line goes where.
	Connect []string
	// Moves says what will move.
	Moves []string
	// Hurts says what could hurt.
	Hurts []string
}

// What several briefings say.
var (
	LinesGoverned = []string{
		"jumpers and sensor off the board first, then:",
		"pickup line (D9) to the governor's pickup input, stick line (D10) to its throttle input,",
		"select line (D11) to its speed input where it has one, throttle line (D8) to its servo output,",
		"grounds (GND) together first; a 3.3 V governor gets the 5 V lines through a divider only;",
		"the governor has its own supply, and nothing feeds back into the USB port",
	}
	MovesServo = []string{"the throttle servo, over its whole way; take the linkage off or leave it free"}
	HurtsStart = []string{
		"an engine that can run: plug out or fuel line off, no starter connected",
		"rotor blades: take them off",
		"a servo arm that jams a linkage or a finger",
	}
)

// GovernedBriefing makes the briefing of a closed-loop procedure.
func GovernedBriefing(purpose string) Briefing {
	return Briefing{Purpose: purpose, Connect: LinesGoverned, Moves: MovesServo, Hurts: HurtsStart}
}

// Write briefs the person.
func (b Briefing) Write(w io.Writer, virtual bool) {
	fmt.Fprintln(w, b.Purpose)
	if virtual {
		fmt.Fprintln(w, "Virtual run: nothing to connect, nothing moves. On the bench it would be:")
	}
	list := func(title string, lines []string) {
		for i, line := range lines {
			if i > 0 {
				title = ""
			}
			fmt.Fprintf(w, "  %-10s %s\n", title, line)
		}
	}
	list("connect", b.Connect)
	list("moves", b.Moves)
	list("could hurt", b.Hurts)
}
