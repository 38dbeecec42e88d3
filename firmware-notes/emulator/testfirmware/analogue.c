/* The probe's pin by the converter, and the comparator's output and flag. */
#include "report.h"

static uint16_t convert(uint16_t *took)
{
	TCNT1 = 0;
	ADCSRA |= 1 << ADSC;
	loop_until_bit_is_clear(ADCSRA, ADSC);
	*took = TCNT1;
	return ADC;
}

int main(void)
{
	uint16_t first, took;

	serial_init();
	TCCR1B = 1 << CS10;
	ADMUX = 1 << REFS0 | 3;
	ADCSRA = 1 << ADEN | 1 << ADPS2 | 1 << ADPS1 | 1 << ADPS0;
	REPORT("adc_first", convert(&first));
	REPORT("adc_first_ticks", first);
	REPORT("adc", convert(&took));
	REPORT("adc_ticks", took);
	ADMUX = 1 << REFS0 | 14;
	REPORT("adc_bandgap", convert(&took));

	ACSR = 1 << ACBG | 1 << ACIS1; /* flag on the falling output */
	ACSR |= 1 << ACI;
	loop_until_bit_is_set(ACSR, ACO);
	REPORT("aci_after_rise", ACSR >> ACI & 1);
	loop_until_bit_is_clear(ACSR, ACO);
	REPORT("aci_after_fall", ACSR >> ACI & 1);
	report_end();
	for (;;)
		;
}
