#include "mcu.h"

static struct input *at(struct inputs *q, int i)
{
	return &q->queue[(q->first + i) % INPUTS_MAX];
}

void inputs_schedule(struct mcu *m, struct input in)
{
	struct inputs *q = &m->inputs;
	bool analogue = in.port == 'A';
	int i;

	if (in.when < m->floor)
		fatal(m, "input scheduled for cycle %llu, before the present cycle %llu",
		      (unsigned long long)in.when, (unsigned long long)m->floor);
	if (!(analogue && in.bit < ANALOGUE_CHANNELS) &&
	    !(in.port >= 'B' && in.port <= 'D' && in.bit < 8 && in.value < 2))
		fatal(m, "no input %c%u at level %u", in.port, in.bit, in.value);
	if (q->count == INPUTS_MAX)
		fatal(m, "more than %d inputs scheduled", INPUTS_MAX);
	for (i = q->count; i > 0 && at(q, i - 1)->when > in.when; i--)
		*at(q, i) = *at(q, i - 1);
	*at(q, i) = in;
	q->count++;
	event_set(m, EV_INPUT, at(q, 0)->when);
}

void inputs_event(struct mcu *m, cycle_t edge)
{
	struct inputs *q = &m->inputs;
	struct input in = *at(q, 0);

	q->first = (q->first + 1) % INPUTS_MAX;
	q->count--;
	event_set(m, EV_INPUT, q->count ? at(q, 0)->when : NEVER);
	if (in.port == 'A') {
		q->millivolts[in.bit] = in.value;
		comparator_refresh(m, edge);
	} else {
		ports_drive(m, in.port, in.bit, in.value, edge);
	}
}
