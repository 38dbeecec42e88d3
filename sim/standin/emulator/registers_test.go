package emulator

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The register semantics of the ATmega328P's data sheet (DS40002061), chapter
// by chapter, as a firmware finds them.
func TestRegisters(t *testing.T) {
	const tov, ocfa, ocfb = 1, 2, 4
	want := []field{
		// System Control and Reset; the marker is the emulator's own.
		{"reset_cause", 1}, {"marker", 0xE5},
		// 16-bit Timer/Counter1, Accessing 16-bit Registers: "each 16-bit
		// timer has a single 8-bit register for temporary storing of the high
		// byte", shared by all; "reading the OCR1A/B 16-bit registers does not
		// involve using the temporary register".
		{"temp_shared_by_writes", 0xAB55},
		{"temp_overwritten_by_icr1", 0x0034},
		{"temp_untouched_by_ocr1_reads", 0x1234},
		{"ocr1b", 0x9876},
		// AVR Instruction Set Manual (DS40002198): LDS takes two cycles.
		{"lds_apart", 2}, {"stopped", 0},
		// TIFR1: each flag "can be cleared by writing a logic one to its bit
		// location"; CBI and SBI "only operate on the specified bit".
		{"flags_all", tov | ocfa | ocfb},
		{"flags_after_ocf1a", tov | ocfb},
		{"flags_after_sbi_tov1", ocfb},
		{"flags_after_cbi_ocf1a", ocfb},
		{"flags_after_zero", ocfb},
		// Reset and Interrupt Handling: a flag set while its interrupt is
		// masked "will be remembered until the interrupt is enabled, or the
		// flag is cleared by software".
		{"masked_served", 0}, {"unmasked_served", 1},
		{"unmasked_flags", tov | ocfb},
		// "The instruction following SEI will be executed before any pending
		// interrupts."
		{"sei_cli_served", 0}, {"sei_nop_cli_served", 1},
		// Input Capture Unit: "after a change of the edge, the Input Capture
		// Flag (ICF1) must be cleared by software": read as the change itself
		// being taken for an edge.
		{"icf1_before_edge_change", 0}, {"icf1_after_edge_change", 1},
		// Compare Match Blocking by TCNT1 Write.
		{"match_at_written_count", 0}, {"match_one_further", ocfa},
		{"late_compare_overflows", 1},
		// Force Output Compare: acts on the pin, "will not set the OCF1x
		// flag", reads as zero.
		{"oc1a_before_force", 0}, {"oc1a_after_force_set", 1},
		{"force_flags", 0}, {"force_reads", 0}, {"oc1a_after_force_clear", 0},
		// I/O-Ports: reading a pin takes a NOP after an OUT; a one written to
		// PINxn toggles PORTxn.
		{"pin_read_at_once", 0}, {"pin_read_later", 1},
		{"portb_after_sbi_pinb3", 0x38}, {"portb_after_pinb_5", 0x18},
		// Timer/Counter2 Timing Diagrams, prescaler 8: OCF2A is set as TCNT2
		// goes on from OCR2A, TOV2 as it goes to zero.
		{"tcnt2_at_ocf2a", 4}, {"tcnt2_at_tov2", 0}, {"tifr2_after_tov2", 0x06},
	}
	require.Equal(t, want, newBench(t, "registers", Options{}).report())
}

func TestNotModelledIsRefused(t *testing.T) {
	b := newBench(t, "refused", Options{})
	var told *HarnessError
	require.ErrorAs(t, b.RunUntil(1000), &told)
	require.Contains(t, told.Text, "register 0x47 is not modelled (0x11 written")
	_, err := b.Read(make([]byte, 1))
	require.ErrorAs(t, err, &told, "the board is of no more use")
}
