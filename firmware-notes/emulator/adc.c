#include "mcu.h"

/* Data sheet, "ADC Conversion Time", in half ADC clocks from the start. */
enum { SAMPLE = 3, FIRST_SAMPLE = 27, CONVERSION = 26, FIRST_CONVERSION = 50 };
enum { AVCC_MILLIVOLTS = 5000, INTERNAL_MILLIVOLTS = 1100 };

static unsigned half_clock(const struct mcu *m)
{
	unsigned select = m->avr->data[ADCSRA] & 7;

	return select < 2 ? 1 : 1u << (select - 1);
}

static void request(struct mcu *m, cycle_t when)
{
	irq_line(m, ADC_vect_num, m->adc.flag && m->avr->data[ADCSRA] & 1 << ADIE, when);
}

void adc_reset(struct mcu *m)
{
	m->adc = (struct adc){ 0 };
	event_set(m, EV_ADC, NEVER);
}

static void acknowledge(struct mcu *m, int vector, cycle_t when)
{
	(void)vector;
	m->adc.flag = false;
	request(m, when);
}

static uint16_t convert(struct mcu *m)
{
	uint8_t admux = m->avr->data[ADMUX], channel = admux & 15;
	uint32_t reference = admux >> REFS0 == 3 ? INTERNAL_MILLIVOLTS : AVCC_MILLIVOLTS;
	uint32_t input = channel < 8 ? analogue_millivolts(m, channel) :
			 channel == 14 ? INTERNAL_MILLIVOLTS : 0;
	uint32_t result = input * 1024 / reference;

	return result > 1023 ? 1023 : (uint16_t)result;
}

static void start(struct mcu *m, cycle_t edge)
{
	struct adc *adc = &m->adc;
	cycle_t clock = 2 * half_clock(m);
	cycle_t begin = adc->enabled + (edge - adc->enabled + clock - 1) / clock * clock;

	if ((m->avr->data[ADMUX] & 15) > 7 && (m->avr->data[ADMUX] & 15) < 14)
		fatal(m, "ADMUX = 0x%02x: that input is not modelled", m->avr->data[ADMUX]);
	adc->converting = true;
	adc->sampled = false;
	event_set(m, EV_ADC, begin + (adc->first ? FIRST_SAMPLE : SAMPLE) * half_clock(m));
}

static void conversion_event(struct mcu *m, cycle_t edge)
{
	struct adc *adc = &m->adc;

	if (!adc->sampled) {
		unsigned rest = adc->first ? FIRST_CONVERSION - FIRST_SAMPLE : CONVERSION - SAMPLE;

		adc->result = convert(m);
		adc->sampled = true;
		event_set(m, EV_ADC, edge + rest * half_clock(m));
		return;
	}
	uint16_t value = m->avr->data[ADMUX] & 1 << ADLAR ? adc->result << 6 : adc->result;

	m->avr->data[ADCL] = value & 0xff;
	m->avr->data[ADCH] = value >> 8;
	adc->converting = adc->first = false;
	adc->flag = true;
	request(m, edge);
}

static uint8_t read_adcsra(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	events_until(m, access_read(m));
	return (avr->data[a] & ~(1 << ADSC | 1 << ADIF)) | m->adc.converting << ADSC | m->adc.flag << ADIF;
}

static uint8_t read_result(avr_t *avr, avr_io_addr_t a, void *param)
{
	events_until(param, access_read(param));
	return avr->data[a];
}

static void write_adcsra(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	struct adc *adc = &m->adc;
	cycle_t edge = access_write(m) + 1;

	if (v & 1 << ADATE)
		fatal(m, "ADCSRA = 0x%02x: automatic conversions are not modelled", v);
	events_until(m, edge);
	if (v & 1 << ADEN && !(avr->data[a] & 1 << ADEN)) {
		adc->enabled = edge;
		adc->first = true;
	}
	avr->data[a] = v;
	if (v & 1 << ADIF)
		adc->flag = false;
	if (!(v & 1 << ADEN)) {
		adc->converting = false;
		event_set(m, EV_ADC, NEVER);
	} else if (v & 1 << ADSC && !adc->converting) {
		start(m, edge);
	}
	comparator_refresh(m, edge); /* ADEN takes the multiplexer away from it */
	request(m, edge);
}

static void write_multiplexer(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	comparator_refresh(m, edge);
}

void adc_init(struct mcu *m)
{
	event_handle(m, EV_ADC, conversion_event);
	irq_handle(m, ADC_vect_num, acknowledge);
	hook(m, ADCSRA, read_adcsra, write_adcsra);
	hook(m, ADCL, read_result, NULL);
	hook(m, ADCH, read_result, NULL);
	hook(m, ADMUX, NULL, write_multiplexer);
	hook(m, ADCSRB, NULL, write_multiplexer);
}
