#include "mcu.h"

enum { SUPPLY_MILLIVOLTS = 5000 };

/*
 * What the wires to an input make of it: the mean of the outputs that drive
 * it, so that two which work against each other stand halfway. False when
 * none drives it. A transistor in a wire drives it even while its own base is
 * let go.
 */
static bool level_at(const struct mcu *m, char port, uint8_t bit, uint16_t *millivolts)
{
	unsigned sum = 0, driving = 0;

	for (int i = 0; i < m->wires.count; i++) {
		const struct wire *w = &m->wires.wire[i];
		bool high = false;

		if (w->to_port != port || w->to_bit != bit)
			continue;
		if (!ports_output(m, w->from_port, w->from_bit, &high) && !w->inverted)
			continue;
		sum += high != w->inverted ? SUPPLY_MILLIVOLTS : 0;
		driving++;
	}
	*millivolts = driving ? (uint16_t)(sum / driving) : 0;
	return driving > 0;
}

static void follow(struct mcu *m, char port, uint8_t bit, cycle_t edge)
{
	uint16_t millivolts;
	bool held = level_at(m, port, bit, &millivolts);

	if (port != 'A') {
		ports_wire(m, port, bit, held, 2 * millivolts >= SUPPLY_MILLIVOLTS, edge);
		return;
	}
	analogue_wire(m, bit, held, millivolts);
	comparator_refresh(m, edge);
}

/* An output changed: what its wires lead to follows. */
static void outputs_changed(struct mcu *m, cycle_t edge)
{
	for (int i = 0; i < m->wires.count; i++)
		follow(m, m->wires.wire[i].to_port, m->wires.wire[i].to_bit, edge);
}

static int find(const struct wires *wires, struct wire w)
{
	int i = 0;

	while (i < wires->count && (wires->wire[i].from_port != w.from_port ||
	       wires->wire[i].from_bit != w.from_bit || wires->wire[i].to_port != w.to_port ||
	       wires->wire[i].to_bit != w.to_bit))
		i++;
	return i;
}

void wires_put(struct mcu *m, struct wire w, cycle_t edge)
{
	int i = find(&m->wires, w);

	if (i == WIRES_MAX)
		fatal(m, "more than %d wires", WIRES_MAX);
	m->wires.wire[i] = w;
	if (i == m->wires.count)
		m->wires.count++;
	follow(m, w.to_port, w.to_bit, edge);
}

void wires_take(struct mcu *m, struct wire w, cycle_t edge)
{
	int i = find(&m->wires, w);

	if (i == m->wires.count)
		return;
	m->wires.wire[i] = m->wires.wire[--m->wires.count];
	follow(m, w.to_port, w.to_bit, edge);
}

void wires_init(struct mcu *m)
{
	ports_on_output(m, outputs_changed);
}
