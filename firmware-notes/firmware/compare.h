/* Arming a compare unit of Timer1, so that the timer itself makes an edge.
 * Interrupts must be off in all of this. */
#ifndef COMPARE_H
#define COMPARE_H

#include <stdint.h>

#include <avr/io.h>

#include "board.h"
#include "clock.h"

/* Edges of all lines that could not be made at their tick. */
extern volatile uint8_t late_edges;

enum compare_unit { COMPARE_A, COMPARE_B };

/* A match this far ahead cannot be told from one that has passed. */
#define COMPARE_REACH 0x7FFF

static inline uint8_t compare_flag(enum compare_unit unit)
{
	return unit == COMPARE_A ? _BV(OCF1A) : _BV(OCF1B);
}

static inline uint8_t compare_matched(enum compare_unit unit)
{
	return TIFR1 & compare_flag(unit);
}

/* The level that the next match, or the force strobe, puts on the line. */
static inline void compare_level(enum compare_unit unit, uint8_t high)
{
	uint8_t set = unit == COMPARE_A ? _BV(COM1A1) | _BV(COM1A0) : _BV(COM1B1) | _BV(COM1B0);
	uint8_t clear = unit == COMPARE_A ? _BV(COM1A1) : _BV(COM1B1);
	uint8_t others = TCCR1A & (uint8_t)~set;

	if (high)
		TCCR1A = others | set;
	else
		TCCR1A = others | clear;
}

/* From the cycle that reads TCNT1L to the edge that the strobe makes: three
 * instructions of two cycles, and the edge is one cycle after the last. */
#define FORCE_TICKS 5

/* Makes the edge now; gives its tick. Data sheet, "Force Output Compare": acts
 * like a match, but raises no flag. In one piece, because the tick must not
 * depend on what the compiler puts between the reading and the strobe. */
static inline uint16_t compare_force(enum compare_unit unit)
{
	uint8_t strobe = unit == COMPARE_A ? _BV(FOC1A) : _BV(FOC1B);
	uint16_t count;

	__asm__ volatile("lds %A0, %1\n\t"
			 "lds %B0, %1 + 1\n\t"
			 "sts %2, %3"
			 : "=&r"(count)
			 : "n"(_SFR_MEM_ADDR(TCNT1)), "n"(_SFR_MEM_ADDR(TCCR1C)), "r"(strobe)
			 : "memory");
	return count + FORCE_TICKS;
}

/* The tick of the last match, or of the next. Data sheet, "Output Compare
 * Units": a match acts at the timer's next clock, hence the 1. */
static inline uint16_t compare_tick(enum compare_unit unit)
{
	return (unit == COMPARE_A ? OCR1A : OCR1B) + 1;
}

static inline void compare_at(enum compare_unit unit, uint16_t tick)
{
	if (unit == COMPARE_A)
		OCR1A = tick - 1;
	else
		OCR1B = tick - 1;
}

/* Makes the present count as the last match; gives its tick. */
static inline uint32_t compare_now(enum compare_unit unit)
{
	uint32_t now = clock_read();

	compare_at(unit, (uint16_t)now);
	return now;
}

/* Takes back what was armed and asks for a match soon that leaves the line at
 * level, where it is. */
static inline void compare_soon(enum compare_unit unit, uint8_t level)
{
	compare_level(unit, level);
	compare_at(unit, TCNT1 + 32);
	TIFR1 = compare_flag(unit);
}

/* The tick of the last match or forced edge, which was less than a turn ago. */
static inline uint32_t compare_last(enum compare_unit unit)
{
	uint32_t now = clock_read() + FORCE_TICKS;

	return now - (uint16_t)((uint16_t)now - compare_tick(unit));
}

/* What remains of the way to an edge that is beyond the timer's reach. */
struct compare_way {
	uint8_t hopping;
	int32_t left; /* from the next match on */
};

/*
 * Arms the unit for an edge to `high`, `left` ticks after its last match; the
 * line is at `present`. Gives 0 when that is past, and has then made the edge
 * at once; that counts as the last match.
 *
 * A moment beyond the timer's reach is approached by hops, halving the last
 * stretch; their matches put the line where it already is. *way says whether
 * the next match is such a hop.
 *
 * A compare value that has passed by the time it is written would match a
 * whole turn later, so it is checked after the write and the edge forced
 * instead.
 */
static inline uint8_t compare_arm(enum compare_unit unit, struct compare_way *way, int32_t left,
				  uint8_t high, uint8_t present)
{
	uint16_t tick = compare_tick(unit);

	if (CURE(4) && left > COMPARE_REACH) {
		uint16_t hop = left > 0xFFFF ? 0x8000 : (uint16_t)left / 2;

		way->left = left - hop;
		way->hopping = 1;
		compare_level(unit, present);
		compare_at(unit, tick + hop);
		return 1;
	}
	way->hopping = 0;
	compare_level(unit, high);
	if (!CURE(3) || left > 0) {
		tick += (uint16_t)left;
		compare_at(unit, tick);
		if (!CURE(3) || (int16_t)(tick - 1 - TCNT1) >= 0 || compare_matched(unit))
			return 1;
	}
	compare_at(unit, compare_force(unit));
	return 0;
}

#endif
