/* The failsafe: when no Drive has come for the failsafe time, the outputs go
 * to their safe state and stay there until Configure. */
#ifndef FAILSAFE_H
#define FAILSAFE_H

#include <stdint.h>

/* The high word of the clock at which the time runs out. Only this word
 * counts: the time runs out at the last overflow that is not after it, up to
 * 4.1 ms early, never late. */
static inline uint16_t failsafe_deadline(uint32_t now, uint32_t ticks)
{
	return (uint16_t)((now + ticks) >> 16);
}

/* Starts the time over. Interrupts must be off. */
void failsafe_feed(uint16_t deadline);
/* Expects no Drive for now. Interrupts must be off. */
void failsafe_rest(void);
/* The same, and forgets a failsafe that has happened. */
void failsafe_forget(void);
/* Whether the failsafe time has run out. */
extern volatile uint8_t failsafe_tripped;

/* Looks at the time. The interrupt at every overflow of Timer1 does. */
void failsafe_check(void);
/* Whether it has looked since this was asked last. */
uint8_t failsafe_looked(void);

#endif
