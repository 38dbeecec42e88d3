#include "chip.h"

#include <avr/io.h>
#include <avr/power.h>
#include <avr/wdt.h>

#include "board.h"

#define NO_INIT __attribute__((section(".noinit")))

uint8_t chip_reset_flags NO_INIT;
uint8_t chip_marker NO_INIT;

/* First what drives the pins in place of the ports; the serial port is set up
 * whole where it is started. */
static inline void release_pins(void)
{
	SPCR = 0;
	TWCR = 0;
	TCCR0A = 0;
	TCCR1A = 0;
	TCCR2A = 0;
	PORTB = 0;
	PORTC = 0;
	PORTD = 0;
	DDRB = 0;
	DDRC = 0;
	DDRD = 0;
}

static inline void mask_interrupts(void)
{
	EIMSK = 0;
	PCICR = 0;
	PCMSK0 = 0;
	PCMSK1 = 0;
	PCMSK2 = 0;
	TIMSK0 = 0;
	TIMSK1 = 0;
	TIMSK2 = 0;
	EECR = 0;
	SPMCSR = 0;
}

/* Timers stand, in normal mode, at zero. */
static inline void stop_timers(void)
{
	GTCCR = 0;
	TCCR0B = 0;
	TCCR1B = 0;
	TCCR2B = 0;
	ASSR = 0;
	TCNT0 = 0;
	TCNT1 = 0;
	TCNT2 = 0;
	OCR0A = 0;
	OCR0B = 0;
	OCR1A = 0;
	OCR1B = 0;
	OCR2A = 0;
	OCR2B = 0;
	TIFR1 = _BV(ICF1) | _BV(OCF1B) | _BV(OCF1A) | _BV(TOV1);
	TIFR2 = _BV(OCF2B) | _BV(OCF2A) | _BV(TOV2);
}

static inline void stop_analogue(void)
{
	ACSR = 0;
	ADCSRA = 0;
	ADCSRB = 0;
	ADMUX = 0;
	DIDR0 = 0;
	DIDR1 = 0;
}

/* Data sheet, "Interrupts", IVCE: the vectors' place may be changed within four
 * cycles. */
static inline void restore_clock_and_vectors(void)
{
	PRR = 0;
	SMCR = 0;
	clock_prescale_set(clock_div_1);
	MCUCR = _BV(IVCE);
	MCUCR = 0;
}

static inline void restore(void)
{
	restore_clock_and_vectors();
	release_pins();
	mask_interrupts();
	stop_timers();
	stop_analogue();
}

/* Runs before the memory is set up. Data sheet, "Watchdog Timer": after its
 * own reset the watchdog stays on, at its shortest time, until the flag has
 * been cleared. */
void early(void) __attribute__((naked, used, section(".init3")));
void early(void)
{
	chip_reset_flags = MCUSR;
	chip_marker = GPIOR2;
	MCUSR = 0;
	wdt_disable();
	if (CURE(12))
		restore();
}
