#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "pipe.h"

static FILE *to_host;

struct told {
	cycle_t when;
	char type;
	uint8_t payload[3];
};

static struct told *events;
static size_t event_count, event_room;

void pipe_open(void)
{
	/* simavr prints to standard output: keep that away from the host. */
	to_host = fdopen(dup(STDOUT_FILENO), "wb");
	if (!to_host || dup2(STDERR_FILENO, STDOUT_FILENO) < 0) {
		perror("harness: standard output");
		exit(1);
	}
	setvbuf(to_host, NULL, _IOFBF, 1 << 16);
}

/* ---- writing ---- */

static void put(uint64_t value, int bytes)
{
	for (int i = 0; i < bytes; i++)
		putc((int)(value >> 8 * i & 0xff), to_host);
}

static void put_text(const char *s)
{
	put(strlen(s), 2);
	fputs(s, to_host);
}

void fatal(struct mcu *m, const char *format, ...)
{
	char text[512];
	va_list ap;

	va_start(ap, format);
	vsnprintf(text, sizeof text, format, ap);
	va_end(ap);
	put('e', 1);
	put(m->avr ? m->avr->cycle : 0, 8);
	put_text(text);
	fflush(to_host);
	exit(1);
}

static void tell(struct told e)
{
	size_t i = event_count;

	if (event_count == event_room) {
		event_room = event_room ? 2 * event_room : 1024;
		events = realloc(events, event_room * sizeof *events);
		if (!events)
			abort();
	}
	for (; i > 0 && events[i - 1].when > e.when; i--)
		events[i] = events[i - 1];
	events[i] = e;
	event_count++;
}

void pipe_pins(struct mcu *m, char port, uint8_t ddr, uint8_t out, cycle_t when)
{
	(void)m;
	tell((struct told){ .when = when, .type = 'p', .payload = { (uint8_t)port, ddr, out } });
}

void pipe_byte(struct mcu *m, uint8_t value, unsigned bit_cycles, cycle_t when)
{
	(void)m;
	tell((struct told){ .when = when, .type = 'b',
			    .payload = { value, bit_cycles & 0xff, (uint8_t)(bit_cycles >> 8) } });
}

void pipe_reset(struct mcu *m, uint8_t cause, cycle_t when)
{
	(void)m;
	tell((struct told){ .when = when, .type = 'r', .payload = { cause } });
}

/* An instruction may have caused an edge just beyond the end of the run: that one waits. */
static void put_events(cycle_t until)
{
	size_t n = 0;

	for (; n < event_count && events[n].when <= until; n++) {
		put((uint8_t)events[n].type, 1);
		put(events[n].when, 8);
		fwrite(events[n].payload, 1, sizeof events[n].payload, to_host);
	}
	event_count -= n;
	memmove(events, events + n, event_count * sizeof *events);
}

static void put_stats(struct mcu *m)
{
	put('s', 1);
	put(m->floor, 8);
	put(m->irq.cycles, 8);
	put(m->sleep_cycles, 8);
	put(m->usart.received, 8);
	put(m->usart.overruns, 8);
	put(m->usart.frame_errors, 8);
	put(m->resets, 4);
	put(m->lowest_sp, 2);
	put(VECTOR_COUNT, 1);
	for (int v = 0; v < VECTOR_COUNT; v++) {
		put(m->irq.count[v].entries, 8);
		put(m->irq.count[v].cycles, 8);
		put(m->irq.count[v].longest, 4);
		put(m->irq.count[v].latest, 4);
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
	put_events(reached);
	put('d', 1);
	put(reached, 8);
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

void pipe_serve(struct mcu *m)
{
	fputs("GVEM", to_host);
	put(PIPE_VERSION, 2);
	put(m->avr->frequency, 4);
	for (;;) {
		fflush(to_host);
		int c = (int)get(1);

		switch (c) {
		case 'R': command_run(m); break;
		case 'S': command_serial(m); break;
		case 'I': command_input(m); break;
		case 'W': command_wire(m); break;
		case 'T': put_stats(m); break;
		case 'X': mcu_reset(m, 1 << EXTRF); break;
		case 'Q': return;
		default: fatal(m, "unknown command 0x%02x", c);
		}
	}
}
