#include "levels.h"

#include "board.h"

/* Data sheet, "Prescaling and Conversion Timing": full resolution wants an ADC
 * clock of 50 to 200 kHz. 125 kHz, 104 us for a conversion. */
#define CONTROL (_BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0))

static uint16_t lowest;
static uint16_t highest;

static void forget(void)
{
	lowest = UINT16_MAX;
	highest = 0;
}

/* Data sheet, "Analog Comparator Multiplexed Input": the comparator listens to
 * AIN1 as long as ACME is off, whatever the converter's multiplexer selects. ACME
 * is never switched on. */
void levels_configure(uint8_t on)
{
	forget();
	DIDR0 = on ? _BV(ADC0D) : 0;
	ADMUX = _BV(REFS0) | LEVEL_CHANNEL; /* against the supply */
	ADCSRA = on ? CONTROL | _BV(ADSC) | _BV(ADIF) : 0;
}

void levels_sample(void)
{
	uint16_t level = ADC;

	ADCSRA = CONTROL | _BV(ADSC) | _BV(ADIF);
	if (level < lowest)
		lowest = level;
	if (level > highest)
		highest = level;
}

uint8_t levels_take(struct wire_levels *m)
{
	uint8_t any = lowest <= highest;

	m->lowest = lowest;
	m->highest = highest;
	forget();
	return any;
}
