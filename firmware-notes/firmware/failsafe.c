#include "failsafe.h"

#include "clock.h"
#include "pickup.h"
#include "stick.h"

static uint8_t counting;
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

void failsafe_check(void)
{
	if (!counting || (int16_t)(clock_high - deadline) < 0)
		return;
	counting = 0;
	failsafe_tripped = 1;
	pickup_stop();
	stick_make_safe();
}
