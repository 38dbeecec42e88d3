package procedure

// What several briefings say.
var (
	linesGoverned = []string{
		"jumpers and sensor off the board first, then:",
		"pickup line (D9) to the governor's pickup input, stick line (D10) to its throttle input,",
		"select line (D11) to its speed input where it has one, throttle line (D8) to its servo output,",
		"grounds (GND) together first; a 3.3 V governor gets the 5 V lines through a divider only;",
		"the governor has its own supply, and nothing feeds back into the USB port",
	}
	movesServo = []string{"the throttle servo, over its whole way; take the linkage off or leave it free"}
	hurtsStart = []string{
		"an engine that can run: plug out or fuel line off, no starter connected",
		"rotor blades: take them off",
		"a servo arm that jams a linkage or a finger",
	}
)

// governedBriefing makes the briefing of a closed-loop procedure.
func governedBriefing(purpose string) Briefing {
	return Briefing{Purpose: purpose, Connect: linesGoverned, Moves: movesServo, Hurts: hurtsStart}
}

// Briefings of the closed-loop procedures.
var (
	HoldBriefing     = governedBriefing("Finds out which select pulse gives each wanted head speed, and how steadily the governor holds it.")
	LoadStepBriefing = governedBriefing("Finds out how far the speed dips and rises when the load changes, and how soon it is back.")
	SweepBriefing    = governedBriefing("Finds out how the governor answers slow and quick swings of speed, and how far the loop is from hunting.")
)
