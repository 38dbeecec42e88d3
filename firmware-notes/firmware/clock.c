#include "clock.h"

#include <util/atomic.h>

#include "board.h"

/* Tests of the wrap start the clock shortly before it. */
#ifndef CLOCK_HIGH_START
#define CLOCK_HIGH_START 0
#endif

volatile uint16_t clock_high = CLOCK_HIGH_START;

void clock_start(void)
{
	TCCR1B = _BV(CS10);
	TIMSK1 |= _BV(TOIE1);
}

/* Data sheet, "Accessing 16-bit Registers": all 16-bit registers of Timer1
 * share one TEMP register, so an interrupt between the two bytes of a read
 * would swap the high byte. */
uint32_t clock_now(void)
{
	uint32_t now = 0;

	if (!CURE(2))
		return clock_read();
	ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
		now = clock_read();
	}
	return now;
}
