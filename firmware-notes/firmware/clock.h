/* The board's clock: Timer1 runs freely, one tick a cycle, and its overflows
 * make it 32 bits long. It wraps after 268 s; moments are compared by the sign
 * of their difference. */
#ifndef CLOCK_H
#define CLOCK_H

#include <stdint.h>

#include <avr/io.h>

extern volatile uint16_t clock_high;

void clock_start(void);

/* Timer1 has overflowed; called in its interrupt. */
static inline void clock_turn(void)
{
	clock_high++;
}

/* The present tick, read outside interrupts. */
uint32_t clock_now(void);

/* Two words as one number; the shift of them would cost twice the time. */
static inline uint32_t clock_join(uint16_t high, uint16_t low)
{
	union {
		uint16_t words[2];
		uint32_t number;
	} both = { .words = { low, high } };

	return both.number;
}

/* The 32-bit moment of a count of Timer1 that was taken just now. An overflow
 * whose interrupt is still waiting has already happened for a small count, and
 * not yet for a large one. */
static inline uint32_t clock_extend(uint16_t count)
{
	uint16_t high = clock_high;

	if ((TIFR1 & _BV(TOV1)) && !(count & 0x8000))
		high++;
	return clock_join(high, count);
}

/* The present tick, read while interrupts are off. */
static inline uint32_t clock_read(void)
{
	return clock_extend(TCNT1);
}

/* Whether a lies before b, for moments less than 134 s apart. */
static inline uint8_t clock_before(uint32_t a, uint32_t b)
{
	return (int32_t)(a - b) < 0;
}

#endif
