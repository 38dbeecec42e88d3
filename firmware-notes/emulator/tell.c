#include "tell.h"

#include <stdlib.h>
#include <string.h>

#include "out.h"

struct told {
	uint64_t when;
	char type;
	uint8_t payload[3];
};

static struct told *queue;
static size_t count, room;

static void tell(struct told e)
{
	size_t i = count;

	if (count == room) {
		room = room ? 2 * room : 1024;
		queue = realloc(queue, room * sizeof *queue);
		if (!queue)
			abort();
	}
	for (; i > 0 && queue[i - 1].when > e.when; i--)
		queue[i] = queue[i - 1];
	queue[i] = e;
	count++;
}

void tell_pins(char port, uint8_t ddr, uint8_t out, uint64_t when)
{
	tell((struct told){ .when = when, .type = 'p', .payload = { (uint8_t)port, ddr, out } });
}

void tell_byte(uint8_t value, unsigned bit_cycles, uint64_t when)
{
	tell((struct told){ .when = when, .type = 'b',
			    .payload = { value, bit_cycles & 0xff, (uint8_t)(bit_cycles >> 8) } });
}

void tell_reset(uint8_t cause, uint64_t when)
{
	tell((struct told){ .when = when, .type = 'r', .payload = { cause } });
}

/* An instruction may have caused an edge just beyond the end of the run: that one waits. */
void tell_host(uint64_t until)
{
	size_t n = 0;

	for (; n < count && queue[n].when <= until; n++) {
		out_put((uint8_t)queue[n].type, 1);
		out_put(queue[n].when, 8);
		out_bytes(queue[n].payload, sizeof queue[n].payload);
	}
	count -= n;
	memmove(queue, queue + n, count * sizeof *queue);
}
