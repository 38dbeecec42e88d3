/* The levels of the pickup probe, by the converter: the lowest and the highest
 * that were seen. Nothing here is done in an interrupt. */
#ifndef LEVELS_H
#define LEVELS_H

#include <stdint.h>

#include <avr/io.h>

#include "wire.h"

/* Starts to look, or stops. */
void levels_configure(uint8_t on);
/* Takes in a finished conversion and starts the next. */
void levels_sample(void);
/* Gives what was seen since the last time, and starts over; 0 when nothing was. */
uint8_t levels_take(struct wire_levels *m);

/* Called all the time. */
static inline void levels_poll(void)
{
	if (ADCSRA & _BV(ADIF))
		levels_sample();
}

#endif
