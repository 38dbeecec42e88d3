#include "stick.h"

#include <avr/interrupt.h>

#include "board.h"
#include "clock.h"
#include "compare.h"
#include "select.h"
#include "serial.h"

enum stage { RISE, FALL, SELECT };

static uint8_t stage;
static uint8_t running;
static uint8_t rising; /* the compare unit is armed to raise the line */
static uint32_t frame; /* start of the present frame */
static uint32_t at;    /* the moment that comes next */
static struct compare_way way; /* to there */
static uint32_t period;
static uint16_t width;
static uint16_t played; /* the last width that was not 0 */
static uint16_t safe;

void stick_start(void)
{
	compare_level(COMPARE_B, 0);
	compare_force(COMPARE_B);
	DDRB |= _BV(PIN_STICK);
}

/* The moment of this stage has come, at tick `at`; goes on to the next. */
static inline void advance(void)
{
	if (stage == RISE && rising) {
		stage = FALL;
		at += played;
	} else if (stage != SELECT) {
		stage = SELECT;
		at = frame + SELECT_CALL_TICKS;
	} else {
		select_begin(frame + SELECT_OFFSET_TICKS);
		frame += period;
		stage = RISE;
		at = frame;
	}
}

static inline uint8_t arm(int32_t left)
{
	rising = stage == RISE && width;
	if (compare_arm(COMPARE_B, &way, left, rising, stage == FALL))
		return 1;
	if (rising || stage == FALL)
		late_edges++;
	return 0;
}

static RARE void catch_up(void)
{
	uint32_t made;

	do {
		made = compare_last(COMPARE_B);
		at = made;
		advance();
	} while (!arm((int32_t)(at - made)));
}

ISR(TIMER1_COMPB_vect)
{
	int32_t left = way.left;

	if (!way.hopping) {
		uint32_t match = at;

		advance();
		left = (int32_t)(at - match);
	}
	if (!arm(left))
		catch_up();
	serial_drain();
}

void stick_configure(uint32_t ticks, uint16_t safe_width)
{
	period = ticks;
	safe = safe_width;
	stick_make_safe();
	if (running)
		return;
	running = 1;
	stage = RISE;
	frame = compare_now(COMPARE_B) + period;
	at = frame;
	arm((int32_t)period);
	TIFR1 = _BV(OCF1B);
	TIMSK1 |= _BV(OCIE1B);
}

/* Whether the next pulse is played at all is settled when its rise is armed;
 * until it has happened that may still change. Should it happen just now, the
 * pin tells what became of it. */
void stick_set(uint16_t ticks)
{
	width = ticks;
	if (ticks)
		played = ticks;
	if (!running || stage != RISE || way.hopping)
		return;
	rising = ticks != 0;
	compare_level(COMPARE_B, rising);
	if (compare_matched(COMPARE_B))
		rising = (PINB & _BV(PIN_STICK)) != 0;
}

void stick_make_safe(void)
{
	stick_set(safe);
}
