#include "frame.h"

#include <string.h>

#include "sink.h"

/* Length of the block at the start of n bytes: up to a zero, 254 at most. */
static uint8_t block_length(const uint8_t *b, uint8_t n)
{
	uint8_t most = n < 254 ? n : 254;
	const uint8_t *zero = memchr(b, 0, most);

	return zero ? (uint8_t)(zero - b) : most;
}

static void put_block(const uint8_t *b, uint8_t n)
{
	sink_put((uint8_t)(n + 1));
	while (n--)
		sink_put(*b++);
}

/* Sends every block that is known to be whole, that is, has its zero or its
 * 254 bytes and is not the last; gives how many bytes that were. */
static uint8_t put_whole_blocks(const uint8_t *b, uint8_t n)
{
	uint8_t done = 0;

	for (;;) {
		uint8_t length = block_length(b + done, (uint8_t)(n - done));

		if (length == (uint8_t)(n - done))
			return done;
		put_block(b + done, length);
		done = (uint8_t)(done + length + (length < 254)); /* with its zero */
	}
}

void frame_stuff(const uint8_t *b, uint8_t n)
{
	uint8_t done = put_whole_blocks(b, n);

	put_block(b + done, (uint8_t)(n - done));
}

/* The first blocks go out before the check is worked out: the message's delay
 * is the host's loop delay. */
void frame_send(uint8_t *b, uint8_t n)
{
	uint8_t done = put_whole_blocks(b, n);
	uint16_t crc = FRAME_CRC_START;

	for (uint8_t i = 0; i < n; i++) {
		crc = frame_crc(crc, b[i]);
		sink_wait();
	}
	b[n] = (uint8_t)(crc >> 8);
	b[n + 1] = (uint8_t)crc;
	frame_stuff(b + done, (uint8_t)(n + FRAME_CHECK_SIZE - done));
	sink_put(0);
}

static void begin(struct frame_decoder *d)
{
	d->length = 0;
	d->left = 0;
	d->any = 1;
	d->zero = 0;
	d->overflow = 0;
	d->crc = FRAME_CRC_START;
}

static inline void append(struct frame_decoder *d, uint8_t byte)
{
	if (d->length == d->room) {
		d->overflow = 1;
		return;
	}
	d->data[d->length++] = byte;
	d->crc = frame_crc(d->crc, byte);
}

/* A message and its check leave the CRC at zero. */
static enum frame_result finish(const struct frame_decoder *d)
{
	if (!d->any)
		return FRAME_EMPTY;
	if (d->overflow || d->left || d->length <= FRAME_CHECK_SIZE || d->crc)
		return FRAME_BAD;
	return FRAME_GOOD;
}

enum frame_result frame_next(struct frame_decoder *d, uint8_t byte)
{
	if (!byte) {
		enum frame_result result = finish(d);

		d->any = 0;
		return result;
	}
	if (!d->any)
		begin(d);
	if (d->left) {
		d->left--;
		append(d, byte);
		return FRAME_MORE;
	}
	if (d->zero)
		append(d, 0);
	d->left = (uint8_t)(byte - 1);
	d->zero = byte != 0xFF;
	return FRAME_MORE;
}
