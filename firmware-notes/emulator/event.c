#include "mcu.h"

static void find_next(struct events *events)
{
	events->next = NEVER;
	for (int e = 0; e < EV_COUNT; e++)
		if (events->when[e] < events->next) {
			events->next = events->when[e];
			events->first = e;
		}
}

void events_init(struct mcu *m)
{
	for (int e = 0; e < EV_COUNT; e++)
		m->events.when[e] = NEVER;
	find_next(&m->events);
}

void event_handle(struct mcu *m, enum event e, event_handler handler)
{
	m->events.handler[e] = handler;
}

void event_set(struct mcu *m, enum event e, cycle_t when)
{
	struct events *events = &m->events;

	events->when[e] = when;
	if (when < events->next) {
		events->next = when;
		events->first = e;
	} else if (e <= events->first) {
		find_next(events); /* it was the next one, or now ties with it and comes first */
	}
}

void event_happens(struct mcu *m)
{
	enum event e = m->events.first;
	cycle_t edge = m->events.next;

	event_set(m, e, NEVER);
	m->events.handler[e](m, edge);
}

void events_until(struct mcu *m, cycle_t t)
{
	while (m->events.next <= t)
		event_happens(m);
}
