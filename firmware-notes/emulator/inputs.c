#include "mcu.h"

static struct input *at(struct inputs *q, int i)
{
	return &q->queue[(q->first + i) % INPUTS_MAX];
}

static bool is_pin(char port, uint8_t bit)
{
	return port >= 'B' && port <= 'D' && bit < 8;
}

void inputs_schedule(struct mcu *m, struct input in)
{
	struct inputs *q = &m->inputs;
	int i;

	if (in.when < m->floor)
		fatal(m, "input scheduled for cycle %llu, before the present cycle %llu",
		      (unsigned long long)in.when, (unsigned long long)m->floor);
	if (in.from_port && (!is_pin(in.from_port, in.from_bit) || in.value > WIRE_INVERTED))
		fatal(m, "no wire of kind %u from %c%u", in.value, in.from_port, in.from_bit);
	if (!(in.port == 'A' && in.bit < ANALOGUE_CHANNELS) &&
	    !(is_pin(in.port, in.bit) && (in.from_port || in.value < 2)))
		fatal(m, "no input %c%u at level %u", in.port, in.bit, in.value);
	if (q->count == INPUTS_MAX)
		fatal(m, "more than %d inputs scheduled", INPUTS_MAX);
	for (i = q->count; i > 0 && at(q, i - 1)->when > in.when; i--)
		*at(q, i) = *at(q, i - 1);
	*at(q, i) = in;
	q->count++;
	event_set(m, EV_INPUT, at(q, 0)->when);
}

static void change_wire(struct mcu *m, struct input in, cycle_t edge)
{
	struct wire w = { in.from_port, in.from_bit, in.port, in.bit, in.value == WIRE_INVERTED };

	if (in.value == WIRE_OUT)
		wires_take(m, w, edge);
	else
		wires_put(m, w, edge);
}

static void input_event(struct mcu *m, cycle_t edge)
{
	struct inputs *q = &m->inputs;
	struct input in = *at(q, 0);

	q->first = (q->first + 1) % INPUTS_MAX;
	q->count--;
	event_set(m, EV_INPUT, q->count ? at(q, 0)->when : NEVER);
	if (in.from_port) {
		change_wire(m, in, edge);
	} else if (in.port == 'A') {
		analogue_hold(m, in.bit, in.value);
		comparator_refresh(m, edge);
	} else {
		ports_drive(m, in.port, in.bit, in.value, edge);
	}
}

void inputs_init(struct mcu *m)
{
	event_handle(m, EV_INPUT, input_event);
}
