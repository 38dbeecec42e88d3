#include "mcu.h"

/*
 * From a pin's edge to the capture. The data sheet gives the synchroniser and
 * edge detector of the T1 pin 2.5 to 3.5 cycles and says that ICP1 is sampled
 * by the same technique; the noise canceller adds four.
 */
enum { SYNCHRONISER = 3, NOISE_CANCELLER = 4 };

static const struct timer_unit unit = {
	.max = 0xffff,
	.dividers = { 0, 1, 8, 64, 256, 1024 },
	.clock_selects = 6,
	.vector_overflow = TIMER1_OVF_vect_num,
	.vector_match = { TIMER1_COMPA_vect_num, TIMER1_COMPB_vect_num },
	.vector_capture = TIMER1_CAPT_vect_num,
	.event_overflow = EV_T1_OVERFLOW,
	.event_match = { EV_T1_A, EV_T1_B },
	.pin = { { 'B', PORTB1 }, { 'B', PORTB2 } },
};

void timer1_reset(struct mcu *m)
{
	struct timer1 *t = &m->timer1;

	timer_reset(m, &t->timer, &unit);
	t->temp = 0;
	t->icr = 0;
	t->capture.rising = t->capture.filtered = t->capture.from_comparator = false;
	t->capture.count = 0;
	t->capture.entering = t->capture.detected = ports_level(m, 'B', PORTB0);
	event_set(m, EV_CAPTURE, NEVER);
}

/* ---- capture ---- */

static void capture(struct mcu *m, cycle_t edge)
{
	/* "The ICF1 Flag is set at the same system clock as the TCNT1 value is
	 * copied into the ICR1 Register." */
	m->timer1.icr = timer_count(&m->timer1.timer, edge);
	timer_raise(m, &m->timer1.timer, TIMER_CAPTURE, edge);
}

static void capture_next(struct mcu *m)
{
	struct timer1 *t = &m->timer1;

	event_set(m, EV_CAPTURE, t->capture.count ? t->capture.queue[t->capture.first].when : NEVER);
}

static void capture_enter(struct mcu *m, bool level, cycle_t when)
{
	struct timer1 *t = &m->timer1;
	cycle_t arrives = when + SYNCHRONISER + (t->capture.filtered ? NOISE_CANCELLER : 0);

	if (level == t->capture.entering)
		return;
	t->capture.entering = level;
	int last = (t->capture.first + t->capture.count - 1) % CAPTURE_DEPTH;

	if (t->capture.filtered && t->capture.count && t->capture.queue[last].when > when + SYNCHRONISER) {
		t->capture.count--; /* fewer than four equal samples: the canceller lets nothing through */
	} else if (t->capture.count == CAPTURE_DEPTH) {
		fatal(m, "more than %d capture edges within %d cycles", CAPTURE_DEPTH, SYNCHRONISER);
	} else {
		int slot = (t->capture.first + t->capture.count++) % CAPTURE_DEPTH;

		t->capture.queue[slot].when = arrives;
		t->capture.queue[slot].level = level;
	}
	capture_next(m);
}

void timer1_capture_input(struct mcu *m, bool comparator, bool level, cycle_t when)
{
	if (comparator == m->timer1.capture.from_comparator)
		capture_enter(m, level, when);
}

static void capture_pin(struct mcu *m, char port, uint8_t changed, uint8_t level, cycle_t edge)
{
	if (port == 'B' && changed & 1 << PORTB0)
		timer1_capture_input(m, false, level & 1 << PORTB0, edge);
}

void timer1_capture_source(struct mcu *m, bool comparator, bool level, cycle_t edge)
{
	m->timer1.capture.from_comparator = comparator;
	capture_enter(m, level, edge);
}

static void capture_event(struct mcu *m, cycle_t edge)
{
	struct timer1 *t = &m->timer1;
	bool level = t->capture.queue[t->capture.first].level;

	t->capture.first = (t->capture.first + 1) % CAPTURE_DEPTH;
	t->capture.count--;
	t->capture.detected = level;
	capture_next(m);
	if (level == t->capture.rising)
		capture(m, edge);
}

/* ---- control registers ---- */

static void write_mode(struct mcu *m)
{
	timer_set_waveform(&m->timer1.timer, m->avr->data[TCCR1A] & (1 << WGM11 | 1 << WGM10) ||
					     m->avr->data[TCCR1B] & (1 << WGM13 | 1 << WGM12));
}

static void write_tccr1a(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	write_mode(m);
	timer_set_modes(m, &m->timer1.timer, v, edge);
}

static void write_tccr1b(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	struct timer1 *t = &m->timer1;
	cycle_t edge = access_write(m) + 1;
	bool rising = v & 1 << ICES1;

	events_until(m, edge);
	avr->data[a] = v & ~(1 << 5);
	write_mode(m);
	timer_set_clock(m, &t->timer, v & 7, edge);
	t->capture.filtered = v & 1 << ICNC1;
	if (rising != t->capture.rising) {
		t->capture.rising = rising;
		/* The detector looks for one polarity of the level; turning the polarity
		 * over while the level already is the wanted one looks like an edge.
		 * Hence the data sheet's "after a change of the edge, the Input Capture
		 * Flag must be cleared by software". */
		if (t->capture.detected == rising)
			capture(m, edge);
	}
}

static void write_tccr1c(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	if (v & 1 << FOC1A)
		timer_force(m, &m->timer1.timer, 0, edge);
	if (v & 1 << FOC1B)
		timer_force(m, &m->timer1.timer, 1, edge);
	avr->data[a] = 0; /* the strobes read as zero */
}

/* ---- 16-bit access: one TEMP register serves them all ---- */

static uint8_t read_low(struct mcu *m, uint16_t value)
{
	m->timer1.temp = value >> 8;
	return value & 0xff;
}

static uint8_t read_temp(avr_t *avr, avr_io_addr_t a, void *param)
{
	(void)avr;
	(void)a;
	return ((struct mcu *)param)->timer1.temp;
}

static uint8_t read_tcnt1l(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	(void)avr;
	(void)a;
	return read_low(m, timer_count(&m->timer1.timer, access_read(m)));
}

static uint8_t read_icr1l(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	(void)avr;
	(void)a;
	events_until(m, access_read(m));
	return read_low(m, m->timer1.icr);
}

/* OCR1x is read without TEMP. */
static uint8_t read_ocr1(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct timer *t = &((struct mcu *)param)->timer1.timer;
	uint16_t value = t->output[a >= OCR1BL].compare;

	(void)avr;
	return (a == OCR1AH || a == OCR1BH) ? value >> 8 : value & 0xff;
}

static void write_temp(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	(void)avr;
	(void)a;
	((struct mcu *)param)->timer1.temp = v;
}

static void write_low(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;
	uint16_t value = v | m->timer1.temp << 8;

	(void)avr;
	events_until(m, edge);
	if (a == TCNT1L)
		timer_set_count(m, &m->timer1.timer, value, edge);
	else if (a != ICR1L) /* ICR1 cannot be written in normal mode */
		timer_set_compare(m, &m->timer1.timer, a == OCR1BL, value, edge);
}

/* ---- flags ---- */

static uint8_t read_tifr1(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;

	(void)avr;
	(void)a;
	events_until(m, access_read(m));
	return m->timer1.timer.flags;
}

static void write_tifr1(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t now = access_write(m);

	(void)avr;
	(void)a;
	events_until(m, now);
	timer_clear(m, &m->timer1.timer, access_struck(m, v), now);
}

static void write_timsk1(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	timer_set_mask(m, &m->timer1.timer, v, edge);
}

/* ---- events and vectors ---- */

static void match_a(struct mcu *m, cycle_t edge)
{
	timer_match(m, &m->timer1.timer, 0, edge);
}

static void match_b(struct mcu *m, cycle_t edge)
{
	timer_match(m, &m->timer1.timer, 1, edge);
}

static void overflow(struct mcu *m, cycle_t edge)
{
	timer_overflow(m, &m->timer1.timer, edge);
}

static void acknowledge(struct mcu *m, int vector, cycle_t when)
{
	timer_acknowledge(m, &m->timer1.timer, vector, when);
}

static void handle(struct mcu *m)
{
	event_handle(m, EV_T1_A, match_a);
	event_handle(m, EV_T1_B, match_b);
	event_handle(m, EV_T1_OVERFLOW, overflow);
	irq_handle(m, TIMER1_COMPA_vect_num, acknowledge);
	irq_handle(m, TIMER1_COMPB_vect_num, acknowledge);
	irq_handle(m, TIMER1_OVF_vect_num, acknowledge);
	irq_handle(m, TIMER1_CAPT_vect_num, acknowledge);
	event_handle(m, EV_CAPTURE, capture_event);
	ports_on_level(m, capture_pin);
}

void timer1_init(struct mcu *m)
{
	handle(m);
	hook(m, TCCR1A, NULL, write_tccr1a);
	hook(m, TCCR1B, NULL, write_tccr1b);
	hook(m, TCCR1C, NULL, write_tccr1c);
	hook(m, TCNT1L, read_tcnt1l, write_low);
	hook(m, TCNT1H, read_temp, write_temp);
	hook(m, ICR1L, read_icr1l, write_low);
	hook(m, ICR1H, read_temp, write_temp);
	for (uint16_t a = OCR1AL; a <= OCR1BH; a++)
		hook(m, a, read_ocr1, (a == OCR1AL || a == OCR1BL) ? write_low : write_temp);
	hook(m, TIFR1, read_tifr1, write_tifr1);
	hook(m, TIMSK1, NULL, write_timsk1);
}
