/* Reports why it was reset, then feeds the watchdog for a while and stops. */
#include <avr/wdt.h>

#include "report.h"

static uint8_t starts __attribute__((section(".noinit")));

int main(void)
{
	uint8_t cause = MCUSR, marker = GPIOR2, running = WDTCSR;

	MCUSR = 0;
	wdt_disable();
	if (cause & 1 << PORF)
		starts = 0;
	starts++;
	GPIOR2 = 0;
	serial_init();
	DDRB = 1 << PB5;
	REPORT("cause", cause);
	REPORT("marker", marker);
	REPORT("wdtcsr", running);
	REPORT("starts", starts);
	report_end();
	loop_until_bit_is_set(UCSR0A, UDRE0);
	wdt_enable(WDTO_30MS);
	for (uint8_t fed = 0; fed < 200; fed++) {
		for (uint16_t i = 0; i < 1000; i++)
			__asm__ volatile("nop");
		wdt_reset();
	}
	__asm__ volatile("wdr\n\tsbi %0, 5" : : "I"(_SFR_IO_ADDR(PORTB)));
	for (;;)
		;
}
