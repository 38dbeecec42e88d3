#include "mcu.h"

static const struct timer_unit unit = {
	.max = 0xff,
	.dividers = { 0, 1, 8, 32, 64, 128, 256, 1024 },
	.clock_selects = 8,
	.vector_overflow = TIMER2_OVF_vect_num,
	.vector_match = { TIMER2_COMPA_vect_num, TIMER2_COMPB_vect_num },
	.event_overflow = EV_T2_OVERFLOW,
	.event_match = { EV_T2_A, EV_T2_B },
	.pin = { { 'B', PORTB3 }, { 'D', PORTD3 } },
};

void timer2_reset(struct mcu *m)
{
	timer_reset(m, &m->timer2, &unit);
}

static void write_mode(struct mcu *m)
{
	timer_set_waveform(&m->timer2, m->avr->data[TCCR2A] & (1 << WGM21 | 1 << WGM20) ||
				       m->avr->data[TCCR2B] & 1 << WGM22);
}

static void write_tccr2a(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	write_mode(m);
	timer_set_modes(m, &m->timer2, v, edge);
}

static void write_tccr2b(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v & (1 << WGM22 | 7); /* the strobes read as zero */
	write_mode(m);
	timer_set_clock(m, &m->timer2, v & 7, edge);
	if (v & 1 << FOC2A)
		timer_force(m, &m->timer2, 0, edge);
	if (v & 1 << FOC2B)
		timer_force(m, &m->timer2, 1, edge);
}

static uint8_t read_tcnt2(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	(void)avr;
	(void)a;
	return timer_count(&m->timer2, access_read(m)) & 0xff;
}

static void write_tcnt2(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	(void)avr;
	(void)a;
	events_until(m, edge);
	timer_set_count(m, &m->timer2, v, edge);
}

static void write_ocr2(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	timer_set_compare(m, &m->timer2, a == OCR2B, v, edge);
	avr->data[a] = v;
}

static uint8_t read_tifr2(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	(void)avr;
	(void)a;
	events_until(m, access_read(m));
	return m->timer2.flags;
}

static void write_tifr2(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t now = access_write(m);

	(void)avr;
	(void)a;
	events_until(m, now);
	timer_clear(m, &m->timer2, access_struck(m, v), now);
}

static void write_timsk2(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	timer_set_mask(m, &m->timer2, v, edge);
}

static void write_gtccr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	if (v & 1 << TSM)
		fatal(m, "GTCCR = 0x%02x: timer synchronisation mode is not modelled", v);
	events_until(m, edge);
	if (v & 1 << PSRSYNC)
		timer_reset_prescaler(m, &m->timer1.timer, edge);
	if (v & 1 << PSRASY)
		timer_reset_prescaler(m, &m->timer2, edge);
	avr->data[a] = 0;
}

static void write_assr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v)
		fatal(param, "ASSR = 0x%02x: Timer2 on its own crystal is not modelled", v);
	avr->data[a] = 0;
}

/* ---- events and vectors ---- */

static void match_a(struct mcu *m, cycle_t edge)
{
	timer_match(m, &m->timer2, 0, edge);
}

static void match_b(struct mcu *m, cycle_t edge)
{
	timer_match(m, &m->timer2, 1, edge);
}

static void overflow(struct mcu *m, cycle_t edge)
{
	timer_overflow(m, &m->timer2, edge);
}

static void acknowledge(struct mcu *m, int vector, cycle_t when)
{
	timer_acknowledge(m, &m->timer2, vector, when);
}

static void handle(struct mcu *m)
{
	event_handle(m, EV_T2_A, match_a);
	event_handle(m, EV_T2_B, match_b);
	event_handle(m, EV_T2_OVERFLOW, overflow);
	irq_handle(m, TIMER2_COMPA_vect_num, acknowledge);
	irq_handle(m, TIMER2_COMPB_vect_num, acknowledge);
	irq_handle(m, TIMER2_OVF_vect_num, acknowledge);
}

void timer2_init(struct mcu *m)
{
	handle(m);
	hook(m, TCCR2A, NULL, write_tccr2a);
	hook(m, TCCR2B, NULL, write_tccr2b);
	hook(m, TCNT2, read_tcnt2, write_tcnt2);
	hook(m, OCR2A, NULL, write_ocr2);
	hook(m, OCR2B, NULL, write_ocr2);
	hook(m, TIFR2, read_tifr2, write_tifr2);
	hook(m, TIMSK2, NULL, write_timsk2);
	hook(m, GTCCR, NULL, write_gtccr);
	hook(m, ASSR, NULL, write_assr);
}
