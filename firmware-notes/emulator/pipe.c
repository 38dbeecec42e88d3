#include <stdio.h>
#include <stdlib.h>

#include "pipe.h"

#include "out.h"

static void put_stats(struct mcu *m)
{
	out_put('s', 1);
	out_put(m->floor, 8);
	out_put(m->irq.cycles, 8);
	out_put(m->sleep_cycles, 8);
	out_put(m->usart.received, 8);
	out_put(m->usart.overruns, 8);
	out_put(m->usart.frame_errors, 8);
	out_put(m->resets, 4);
	out_put(m->lowest_sp, 2);
	out_put(VECTOR_COUNT, 1);
	for (int v = 0; v < VECTOR_COUNT; v++) {
		out_put(m->irq.count[v].entries, 8);
		out_put(m->irq.count[v].cycles, 8);
		out_put(m->irq.count[v].longest, 4);
		out_put(m->irq.count[v].latest, 4);
	}
}

/* ---- reading ---- */

static uint64_t get(int bytes)
{
	uint64_t value = 0;

	for (int i = 0; i < bytes; i++) {
		int c = getchar();

		if (c == EOF)
			exit(0); /* the host is gone */
		value |= (uint64_t)c << 8 * i;
	}
	return value;
}

static void command_run(struct mcu *m)
{
	cycle_t until = get(8), reached;
	bool at_delimiter = get(1);

	if (until < m->floor)
		fatal(m, "run until cycle %llu, which is past", (unsigned long long)until);
	reached = mcu_run(m, until, at_delimiter);
	tell_host(reached);
	out_put('d', 1);
	out_put(reached, 8);
}

static void command_serial(struct mcu *m)
{
	static uint8_t bytes[RXD_MAX];
	cycle_t start = get(8);
	uint32_t bit = (uint32_t)get(4);
	int count = (int)get(2);

	for (int i = 0; i < count; i++)
		bytes[i] = (uint8_t)get(1);
	usart_schedule(m, start, bit, bytes, count);
}

static void command_input(struct mcu *m)
{
	struct input in = { .when = get(8) };

	in.port = (char)get(1);
	in.bit = (uint8_t)get(1);
	in.value = (uint16_t)get(2);
	inputs_schedule(m, in);
}

static void command_wire(struct mcu *m)
{
	struct input in = { .when = get(8) };

	in.from_port = (char)get(1);
	in.from_bit = (uint8_t)get(1);
	in.port = (char)get(1);
	in.bit = (uint8_t)get(1);
	in.value = (uint16_t)get(1);
	inputs_schedule(m, in);
}

/* A register as the program would write it, or, when it has no model, as it is kept. */
static void command_poke(struct mcu *m)
{
	uint16_t address = (uint16_t)get(2);
	uint8_t value = (uint8_t)get(1);
	unsigned io;

	if (address < 0x20 || address > 0xff)
		fatal(m, "no register at 0x%04x", address);
	io = AVR_DATA_TO_IO(address);
	if (unmodelled(m, address) || !m->avr->io[io].w.c)
		m->avr->data[address] = value;
	else
		m->avr->io[io].w.c(m->avr, address, value, m);
}

static void command_peek(struct mcu *m)
{
	out_put('v', 1);
	out_put(m->floor, 8);
	out_bytes(m->avr->data + 0x20, 0xe0);
}

void pipe_serve(struct mcu *m)
{
	out_bytes("GVEM", 4);
	out_put(PIPE_VERSION, 2);
	out_put(m->avr->frequency, 4);
	for (;;) {
		out_flush();
		int c = (int)get(1);

		switch (c) {
		case 'R': command_run(m); break;
		case 'S': command_serial(m); break;
		case 'I': command_input(m); break;
		case 'W': command_wire(m); break;
		case 'T': put_stats(m); break;
		case 'P': command_poke(m); break;
		case 'G': command_peek(m); break;
		case 'X': mcu_reset(m, 1 << EXTRF); break;
		case 'Q': return;
		default: fatal(m, "unknown command 0x%02x", c);
		}
	}
}
