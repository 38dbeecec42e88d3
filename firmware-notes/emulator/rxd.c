#include "rxd.h"

static struct rxd_byte *at(const struct usart *u, int i)
{
	return (struct rxd_byte *)&u->line[(u->line_first + i) % RXD_MAX];
}

static uint64_t end_of(const struct rxd_byte *b)
{
	return b->start + 10 * (uint64_t)b->bit;
}

static bool bit_of(const struct rxd_byte *b, unsigned bit)
{
	return bit == 9 || (bit > 0 && b->value >> (bit - 1) & 1);
}

bool rxd_level(const struct usart *u, cycle_t now)
{
	uint64_t t = now << 8;

	for (int i = 0; i < u->line_count && at(u, i)->start <= t; i++)
		if (t < end_of(at(u, i)))
			return bit_of(at(u, i), (unsigned)((t - at(u, i)->start) / at(u, i)->bit));
	return true;
}

cycle_t rxd_fall(const struct usart *u, cycle_t now)
{
	for (int i = 0; i < u->line_count; i++) {
		const struct rxd_byte *b = at(u, i);

		for (unsigned bit = 0; bit < 9 && end_of(b) > now << 8; bit++) {
			uint64_t step = b->start + bit * (uint64_t)b->bit;
			bool was = bit == 0 || bit_of(b, bit - 1);

			if (was && !bit_of(b, bit) && step >= now << 8)
				return (step + 255) >> 8;
		}
	}
	return NEVER;
}

void rxd_forget(struct usart *u, cycle_t now)
{
	while (u->line_count && end_of(at(u, 0)) <= now << 8) {
		u->line_first = (u->line_first + 1) % RXD_MAX;
		u->line_count--;
	}
}
