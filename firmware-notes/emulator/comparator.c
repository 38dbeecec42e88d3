#include "mcu.h"

enum {
	BANDGAP_MILLIVOLTS = 1100,
	SYNCHRONISER = 2, /* "The synchronization introduces a delay of 1 - 2 clock cycles." */
};

static uint16_t negative_input(const struct mcu *m)
{
	const uint8_t *data = m->avr->data;
	bool multiplexed = data[ADCSRB] & 1 << ACME && !(data[ADCSRA] & 1 << ADEN);

	return analogue_millivolts(m, multiplexed ? data[ADMUX] & 7 : ANALOGUE_AIN1);
}

static bool compare(const struct mcu *m)
{
	uint8_t acsr = m->avr->data[ACSR];
	uint16_t positive = acsr & 1 << ACBG ? BANDGAP_MILLIVOLTS : analogue_millivolts(m, ANALOGUE_AIN0);

	return !(acsr & 1 << ACD) && positive > negative_input(m);
}

static void request(struct mcu *m, cycle_t when)
{
	irq_line(m, ANALOG_COMP_vect_num,
		 m->comparator.flag && m->avr->data[ACSR] & 1 << ACIE, when);
}

void comparator_reset(struct mcu *m)
{
	m->comparator.flag = false;
	m->comparator.raw = m->comparator.output = compare(m);
	event_set(m, EV_COMPARATOR, NEVER);
}

void comparator_refresh(struct mcu *m, cycle_t edge)
{
	struct comparator *c = &m->comparator;
	bool raw = compare(m);

	if (raw == c->raw)
		return;
	c->raw = raw;
	event_set(m, EV_COMPARATOR, edge + SYNCHRONISER);
	timer1_capture_input(m, true, raw, edge);
}

static void output_event(struct mcu *m, cycle_t edge)
{
	struct comparator *c = &m->comparator;
	uint8_t select = m->avr->data[ACSR] & (1 << ACIS1 | 1 << ACIS0);

	if (c->output == c->raw)
		return;
	c->output = c->raw;
	if (select == 0 || (select == 2 && !c->output) || (select == 3 && c->output)) {
		c->flag = true;
		request(m, edge);
	}
}

static void acknowledge(struct mcu *m, int vector, cycle_t when)
{
	(void)vector;
	m->comparator.flag = false;
	request(m, when);
}

static uint8_t read_acsr(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	events_until(m, access_read(m));
	return (avr->data[a] & ~(1 << ACO | 1 << ACI)) |
	       m->comparator.output << ACO | m->comparator.flag << ACI;
}

static void write_acsr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;
	bool capturing = avr->data[a] & 1 << ACIC;

	events_until(m, edge);
	avr->data[a] = v & ~(1 << ACO | 1 << ACI);
	if (v & 1 << ACI)
		m->comparator.flag = false;
	comparator_refresh(m, edge);
	if (capturing != (bool)(v & 1 << ACIC))
		timer1_capture_source(m, !capturing,
				      capturing ? ports_level(m, 'B', PORTB0) : m->comparator.raw, edge);
	request(m, edge);
}

void comparator_init(struct mcu *m)
{
	event_handle(m, EV_COMPARATOR, output_event);
	irq_handle(m, ANALOG_COMP_vect_num, acknowledge);
	hook(m, ACSR, read_acsr, write_acsr);
}
