/* The analogue-to-digital converter: single conversions, polled or by interrupt. */
#ifndef ADC_H
#define ADC_H

struct mcu;

struct adc {
	cycle_t enabled;  /* ADEN was set here; the prescaler starts from it */
	bool first;       /* the next conversion is the first since then */
	bool converting;
	bool sampled;     /* the input is held, the result not out yet */
	uint16_t result;
	bool flag;
};

void adc_init(struct mcu *m);
void adc_reset(struct mcu *m);

#endif
