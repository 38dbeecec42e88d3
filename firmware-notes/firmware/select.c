#include "select.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "compare.h"
#include "serial.h"

/* Timer2 counts eight ticks at a time and wraps after 128 us, so a pulse takes
 * several matches. Each but the first and the last puts the line where it
 * already is. No hop is longer or (but for the shortest pulse) shorter than
 * this, which leaves the interrupt 60 us to set up the next. */
#define LONGEST_HOP 240

/* A start that was called too late comes after this many counts. */
#define SOON 16

static uint8_t phase; /* of Timer2's count against Timer1's, in counts */
static uint16_t width; /* in counts */
static uint16_t left;  /* counts of the pulse after the present hop */

static void level(uint8_t high)
{
	TCCR2A = high ? _BV(COM2A1) | _BV(COM2A0) : _BV(COM2A1);
}

static void force(void)
{
	TCCR2B = _BV(FOC2A) | _BV(CS21);
}

void select_start(void)
{
	level(0);
	force(); /* starts Timer2 as well */
	DDRB |= _BV(PIN_SELECT);
	phase = (uint8_t)(TCNT2 - (uint8_t)(TCNT1 >> 3));
}

void select_set(uint16_t ticks)
{
	width = (uint16_t)((ticks + 4) / 8);
}

/* Arms the match that comes `hop` counts after the last one, to raise or keep
 * up the line or to end the pulse. When that has passed already, makes its
 * edge at once. Gives whether it is still to come. */
static uint8_t arm(uint8_t from, uint8_t hop, uint8_t high)
{
	level(high);
	OCR2A = (uint8_t)(from + hop);
	if ((uint8_t)(TCNT2 - from) <= hop || (TIFR2 & _BV(OCF2A)))
		return 1;
	force();
	return 0;
}

void select_begin(uint32_t start)
{
	/* The match acts at the timer's next count, hence the 1. */
	uint8_t count = (uint8_t)((uint8_t)((uint16_t)start >> 3) + phase - 1);
	uint8_t now = TCNT2;
	uint8_t hop = (uint8_t)(count - now);

	if (!width)
		return;
	if (hop > SELECT_LEAD_TICKS / 8) {
		hop = SOON;
		late_edges++;
	}
	left = width;
	OCR2A = (uint8_t)(now - 1);
	TIFR2 = _BV(OCF2A);
	TIMSK2 = _BV(OCIE2A);
	arm(now, hop, 1);
}

ISR(TIMER2_COMPA_vect)
{
	while (left) {
		uint8_t hop = LONGEST_HOP;

		if (left <= LONGEST_HOP)
			hop = (uint8_t)left;
		else if (left < 2 * LONGEST_HOP)
			hop = (uint8_t)(left / 2);
		left -= hop;
		if (arm(OCR2A, hop, left != 0)) {
			serial_drain();
			return;
		}
		if (!left)
			late_edges++;
	}
	TIMSK2 = 0;
	serial_drain();
}
