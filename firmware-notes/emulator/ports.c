#include "mcu.h"

static const uint16_t base[3] = { PINB, PINC, PIND }; /* PIN, DDR, PORT follow each other */

static void refresh(struct mcu *m, int p, cycle_t edge)
{
	struct port *port = &m->ports.port[p];
	uint8_t ddr = m->avr->data[base[p] + 1], latch = m->avr->data[base[p] + 2];
	uint8_t out = (latch & ~port->taken) | (port->forced & port->taken);

	if (ddr != port->told_ddr || (out & ddr) != port->told_out) {
		port->told_ddr = ddr;
		port->told_out = out & ddr;
		tell_pins("BCD"[p], ddr, out & ddr, edge);
		m->ports.output_changed(m, edge); /* which may change inputs of this port too */
	}
	uint8_t in = (port->drive & port->driven) | (latch & ~port->driven); /* pull-up, else low */

	in = (port->wire & port->wired) | (in & ~port->wired);
	uint8_t level = (out & ddr) | (in & ~ddr);

	if (level == port->level)
		return;
	uint8_t changed = level ^ port->level;

	if (edge != port->changed)
		port->before = port->level;
	port->changed = edge;
	port->level = level;
	m->ports.level_changed(m, "BCD"[p], changed, level, edge);
}

void ports_on_output(struct mcu *m, ports_output_handler handler)
{
	m->ports.output_changed = handler;
}

void ports_on_level(struct mcu *m, ports_level_handler handler)
{
	m->ports.level_changed = handler;
}

static int index_of(char name)
{
	return name - 'B';
}

void ports_override(struct mcu *m, char name, int bit, bool taken, bool level, cycle_t edge)
{
	struct port *port = &m->ports.port[index_of(name)];

	port->taken = (port->taken & ~(1 << bit)) | taken << bit;
	port->forced = (port->forced & ~(1 << bit)) | level << bit;
	refresh(m, index_of(name), edge);
}

void ports_drive(struct mcu *m, char name, int bit, bool level, cycle_t edge)
{
	struct port *port = &m->ports.port[index_of(name)];

	port->driven |= 1 << bit;
	port->drive = (port->drive & ~(1 << bit)) | level << bit;
	refresh(m, index_of(name), edge);
}

void ports_wire(struct mcu *m, char name, int bit, bool held, bool level, cycle_t edge)
{
	struct port *port = &m->ports.port[index_of(name)];

	port->wired = (port->wired & ~(1 << bit)) | held << bit;
	port->wire = (port->wire & ~(1 << bit)) | level << bit;
	refresh(m, index_of(name), edge);
}

bool ports_output(const struct mcu *m, char name, int bit, bool *high)
{
	const struct port *port = &m->ports.port[index_of(name)];

	*high = port->told_out >> bit & 1;
	return port->told_ddr >> bit & 1;
}

bool ports_level(const struct mcu *m, char name, int bit)
{
	return m->ports.port[index_of(name)].level >> bit & 1;
}

/* Reading passes a synchroniser: a level is seen in the cycle after its edge. */
static uint8_t read_pin(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;
	int p = (a - PINB) / 3;
	struct port *port = &m->ports.port[p];
	cycle_t now = access_read(m);

	events_until(m, now);
	uint8_t level = port->changed < now ? port->level : port->before;

	if (p == 1)
		level &= ~(avr->data[DIDR0] & 0x3f); /* digital input buffers switched off */
	if (p == 2)
		level &= ~(avr->data[DIDR1] << 6 & 0xc0);
	return level;
}

/* Writing a one to PIN turns the PORT bit over. */
static void write_pin(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a + 2] ^= access_struck(m, v);
	refresh(m, (a - PINB) / 3, edge);
}

static void write_ddr_or_port(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	refresh(m, (a - PINB) / 3, edge);
}

void ports_init(struct mcu *m)
{
	for (int p = 0; p < 3; p++) {
		hook(m, base[p], read_pin, write_pin);
		hook(m, base[p] + 1, NULL, write_ddr_or_port);
		hook(m, base[p] + 2, NULL, write_ddr_or_port);
	}
}

void ports_reset(struct mcu *m)
{
	for (int p = 0; p < 3; p++)
		refresh(m, p, m->avr->cycle);
}
