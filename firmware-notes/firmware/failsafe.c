#include "failsafe.h"

#include <avr/interrupt.h>

#include "board.h"
#include "clock.h"
#include "pickup.h"
#include "serial.h"
#include "stick.h"

static uint8_t counting;
static volatile uint8_t looked;
static uint16_t deadline;

volatile uint8_t failsafe_tripped;

void failsafe_feed(uint16_t when)
{
	deadline = when;
	counting = 1;
}

void failsafe_rest(void)
{
	counting = 0;
}

void failsafe_forget(void)
{
	counting = 0;
	failsafe_tripped = 0;
}

uint8_t failsafe_looked(void)
{
	uint8_t yes = looked;

	looked = 0;
	return yes;
}

ISR(TIMER1_OVF_vect)
{
	clock_turn();
	if (CURE(9))
		failsafe_check();
	serial_drain();
}

void failsafe_check(void)
{
	looked = 1;
	if (!counting || (int16_t)(clock_high - deadline) < 0)
		return;
	counting = 0;
	failsafe_tripped = 1;
	pickup_stop();
	stick_make_safe();
}
