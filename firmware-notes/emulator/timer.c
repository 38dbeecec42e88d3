#include "mcu.h"

static uint64_t ticks(const struct timer *t, cycle_t now)
{
	return (now - t->prescaler_zero) / t->divider;
}

uint16_t timer_count(const struct timer *t, cycle_t now)
{
	if (!t->divider)
		return t->count;
	return (t->count + (ticks(t, now) - ticks(t, t->since))) & t->unit->max;
}

/* The first edge after `now` at which the count steps on from value. */
static cycle_t leaves(const struct timer *t, uint16_t value, cycle_t now)
{
	uint16_t ahead = (value - timer_count(t, now)) & t->unit->max;

	return (ticks(t, now) + ahead + 1) * t->divider + t->prescaler_zero;
}

static cycle_t turn(const struct timer *t)
{
	return ((cycle_t)t->unit->max + 1) * t->divider;
}

static cycle_t next_match(const struct timer *t, int channel, cycle_t now)
{
	cycle_t edge = leaves(t, t->output[channel].compare, now);

	return edge == t->blocked ? edge + turn(t) : edge;
}

static void schedule(struct mcu *m, struct timer *t, cycle_t now)
{
	const struct timer_unit *u = t->unit;

	for (int c = 0; c < 2; c++)
		event_set(m, u->event_match[c], t->divider ? next_match(t, c, now) : NEVER);
	event_set(m, u->event_overflow, t->divider ? leaves(t, u->max, now) : NEVER);
}

/* Freezes the count reached at edge, so that its clock may change there. */
static void rebase(struct timer *t, cycle_t edge)
{
	t->count = timer_count(t, edge);
	t->since = edge;
}

/* Puts on a compare output's pin what stands there. */
static void show(struct mcu *m, const struct timer *t, int channel, cycle_t edge)
{
	ports_override(m, t->unit->pin[channel].port, t->unit->pin[channel].bit,
		       t->output[channel].mode, t->output[channel].level, edge);
}

void timer_reset(struct mcu *m, struct timer *t, const struct timer_unit *unit)
{
	cycle_t now = m->avr->cycle;

	*t = (struct timer){ .unit = unit, .prescaler_zero = now, .since = now };
	show(m, t, 0, now);
	show(m, t, 1, now);
	schedule(m, t, now);
}

void timer_set_count(struct mcu *m, struct timer *t, uint16_t value, cycle_t edge)
{
	t->count = value;
	t->since = edge;
	/* "All CPU writes to the TCNT register will block any compare match that
	 * occur in the next timer clock cycle, even when the timer is stopped." */
	t->blocked = t->divider ? leaves(t, value, edge) : NEVER;
	schedule(m, t, edge);
}

void timer_set_compare(struct mcu *m, struct timer *t, int channel, uint16_t value, cycle_t edge)
{
	t->output[channel].compare = value;
	schedule(m, t, edge);
}

void timer_set_clock(struct mcu *m, struct timer *t, uint8_t select, cycle_t edge)
{
	if (select >= t->unit->clock_selects)
		fatal(m, "timer clocked from a pin: not modelled");
	rebase(t, edge);
	t->divider = t->unit->dividers[select];
	if (t->divider && t->blocked == NEVER)
		t->blocked = leaves(t, t->count, edge);
	schedule(m, t, edge);
}

void timer_set_waveform(struct timer *t, bool waveform)
{
	t->waveform = waveform;
}

static void need_normal_mode(struct mcu *m, const struct timer *t)
{
	if (t->waveform)
		fatal(m, "a timer runs in a mode that is not modelled: only normal mode is");
}

void timer_set_modes(struct mcu *m, struct timer *t, uint8_t tccra, cycle_t edge)
{
	t->output[0].mode = tccra >> 6;
	t->output[1].mode = tccra >> 4 & 3;
	show(m, t, 0, edge);
	show(m, t, 1, edge);
}

/* What a match does to the OC register. */
static void drive(struct mcu *m, struct timer *t, int channel, cycle_t edge)
{
	bool level = t->output[channel].level;

	switch (t->output[channel].mode) {
	case 1: level = !level; break;
	case 2: level = false; break;
	case 3: level = true; break;
	default: return;
	}
	t->output[channel].level = level;
	show(m, t, channel, edge);
}

void timer_force(struct mcu *m, struct timer *t, int channel, cycle_t edge)
{
	drive(m, t, channel, edge);
}

void timer_reset_prescaler(struct mcu *m, struct timer *t, cycle_t edge)
{
	rebase(t, edge);
	t->prescaler_zero = edge;
	schedule(m, t, edge);
}

void timer_match(struct mcu *m, struct timer *t, int channel, cycle_t edge)
{
	need_normal_mode(m, t);
	event_set(m, t->unit->event_match[channel], edge + turn(t));
	timer_raise(m, t, channel ? TIMER_MATCH_B : TIMER_MATCH_A, edge);
	drive(m, t, channel, edge);
}

void timer_overflow(struct mcu *m, struct timer *t, cycle_t edge)
{
	need_normal_mode(m, t);
	event_set(m, t->unit->event_overflow, edge + turn(t));
	timer_raise(m, t, TIMER_OVERFLOW, edge);
}

static void request(struct mcu *m, struct timer *t, cycle_t when)
{
	const struct timer_unit *u = t->unit;
	uint8_t live = t->flags & t->mask;

	irq_line(m, u->vector_overflow, live & TIMER_OVERFLOW, when);
	irq_line(m, u->vector_match[0], live & TIMER_MATCH_A, when);
	irq_line(m, u->vector_match[1], live & TIMER_MATCH_B, when);
	if (u->vector_capture)
		irq_line(m, u->vector_capture, live & TIMER_CAPTURE, when);
}

void timer_raise(struct mcu *m, struct timer *t, uint8_t flag, cycle_t when)
{
	t->flags |= flag;
	request(m, t, when);
}

void timer_clear(struct mcu *m, struct timer *t, uint8_t flags, cycle_t when)
{
	t->flags &= ~flags;
	request(m, t, when);
}

void timer_set_mask(struct mcu *m, struct timer *t, uint8_t mask, cycle_t when)
{
	t->mask = mask;
	request(m, t, when);
}

void timer_acknowledge(struct mcu *m, struct timer *t, int vector, cycle_t when)
{
	const struct timer_unit *u = t->unit;
	uint8_t flag = TIMER_CAPTURE;

	if (vector == u->vector_overflow)
		flag = TIMER_OVERFLOW;
	else if (vector == u->vector_match[0])
		flag = TIMER_MATCH_A;
	else if (vector == u->vector_match[1])
		flag = TIMER_MATCH_B;
	timer_clear(m, t, flag, when);
}
