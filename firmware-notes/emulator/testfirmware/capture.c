/*
 * Times the pulses on ICP1 by the hardware, extended to 32 bits, and reports
 * each. PB5 rises two cycles before TCNT1 is zero. The host asks for the noise
 * canceller or the comparator by its first byte.
 */
#include "report.h"

#define RING 32

static volatile uint16_t overflows;
static volatile struct {
	uint32_t start, width;
} ring[RING];
static volatile uint8_t filled;
static uint32_t start;

ISR(TIMER1_OVF_vect)
{
	overflows++;
}

ISR(TIMER1_CAPT_vect)
{
	uint16_t low = ICR1, high = overflows;
	uint8_t rise = TCCR1B & 1 << ICES1;

#ifndef UNCURED
	if (TIFR1 & 1 << TOV1 && !(low & 0x8000))
		high++;
#endif
	TCCR1B ^= 1 << ICES1;
	TIFR1 = 1 << ICF1;
	uint32_t at = (uint32_t)high << 16 | low;

	if (rise) {
		start = at;
	} else {
		uint8_t i = filled % RING;

		ring[i].start = start;
		ring[i].width = at - start;
		filled++;
	}
}

int main(void)
{
	uint8_t run = 1 << ICES1 | 1 << CS10, sent = 0;

	serial_init();
	DDRB = 1 << PB5;
	loop_until_bit_is_set(UCSR0A, RXC0);
	switch (UDR0) {
	case 'n':
		run |= 1 << ICNC1;
		break;
	case 'c':
		ACSR = 1 << ACBG | 1 << ACIC;
		break;
	}
	TCCR1B = run & ~(1 << CS10);
	TIFR1 = 0xff;
	TIMSK1 = 1 << ICIE1 | 1 << TOIE1;
	__asm__ volatile(
		"sbi %[portb], 5\n\t"
		"sts %[tccr1b], %[run]\n\t"
		: : [portb] "I"(_SFR_IO_ADDR(PORTB)), [tccr1b] "n"(_SFR_MEM_ADDR(TCCR1B)), [run] "r"(run));
	sei();
	for (;;) {
		if (sent == filled)
			continue;
		cli();
		uint32_t s = ring[sent % RING].start, w = ring[sent % RING].width;
		sei();
		REPORT("start", s);
		REPORT("width", w);
		report_end();
		sent++;
	}
}
