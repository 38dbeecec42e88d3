/*
 * Firmware of the govrig board: plays a pickup and a receiver to a governor
 * and times the governor's throttle pulses. See README.md.
 *
 * Interrupts make and time the edges; the main loop talks to the host. The
 * watchdog is fed by the main loop, and only when the failsafe has been looked
 * at in an interrupt: both must go on.
 */
#include <avr/interrupt.h>
#include <avr/wdt.h>

#include "board.h"
#include "capture.h"
#include "clock.h"
#include "failsafe.h"
#include "identity.h"
#include "pickup.h"
#include "select.h"
#include "serial.h"
#include "session.h"
#include "stick.h"

int main(void)
{
	pickup_start();
	stick_start();
	clock_start();
	select_start();
	capture_start();
	identity_start();
	serial_start();
	wdt_enable(WDTO_120MS);
	sei();
	for (;;) {
		session_poll();
		if (!CURE(13) || failsafe_looked())
			wdt_reset();
	}
}
