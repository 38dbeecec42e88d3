/*
 * Compare outputs against the cycle. PB5 rises when the timers start; the
 * cycles from there on are counted in the comments.
 */
#include <avr/io.h>

int main(void)
{
	DDRB = 1 << PB1 | 1 << PB2 | 1 << PB3 | 1 << PB5;
	DDRD = 1 << PD3;
	TCCR1A = 1 << COM1A0 | 1 << COM1B1 | 1 << COM1B0; /* OC1A toggles, OC1B is set */
	OCR1A = 1000;
	OCR1B = 40000;
	OCR2A = 99;
	OCR2B = 9;
	TCCR2A = 1 << COM2A0 | 1 << COM2B0; /* both toggle */
	uint8_t t1 = 1 << CS10, t2 = 1 << CS21, zero = 1 << PSRASY;

	__asm__ volatile(
		"sbi %[portb], 5\n\t"    /* PB5 rises at edge 0 */
		"sts %[tccr1b], %[t1]\n\t" /* cycles 0-1: TCNT1 = 0 in cycle 2 */
		"sts %[gtccr], %[zero]\n\t" /* cycles 2-3: prescaler zero in cycle 4 */
		"sts %[tccr2b], %[t2]\n\t"  /* cycles 4-5: TCNT2 = 0 up to cycle 11 */
		:
		: [portb] "I"(_SFR_IO_ADDR(PORTB)), [tccr1b] "n"(_SFR_MEM_ADDR(TCCR1B)),
		  [gtccr] "n"(_SFR_MEM_ADDR(GTCCR)), [tccr2b] "n"(_SFR_MEM_ADDR(TCCR2B)),
		  [t1] "r"(t1), [t2] "r"(t2), [zero] "r"(zero));
	for (;;)
		;
}
