/* Frames: the message and its CRC-16, both byte-stuffed with COBS, then a zero
 * byte. Plain C without any register, so that it is tested on the host too. */
#ifndef FRAME_H
#define FRAME_H

#include <stdint.h>

#define FRAME_CHECK_SIZE 2
#define FRAME_CRC_START 0xFFFFU

/* CRC-16/IBM-3740 taken one byte further. */
static inline uint16_t frame_crc(uint16_t crc, uint8_t byte)
{
	uint8_t x = (uint8_t)(crc >> 8) ^ byte;
	uint8_t high, low;

	/* Division by 0x1021 eight bits at a time: each bit of x lands at bits
	 * 12, 5 and 0 after the top nibble has been folded into the lower one. */
	x ^= x >> 4;
	high = (uint8_t)crc ^ (uint8_t)(x << 4) ^ (x >> 3);
	low = (uint8_t)(x << 5) ^ x;
	return (uint16_t)((uint16_t)high << 8 | low);
}

/* Byte-stuffs n bytes, without the closing zero. */
void frame_stuff(const uint8_t *b, uint8_t n);
/* Sends n bytes as one frame. Two bytes after them are used for the check. */
void frame_send(uint8_t *b, uint8_t n);

/* Set data and room; the rest starts at zero. */
struct frame_decoder {
	uint8_t *data;    /* where decoded bytes go */
	uint8_t room;     /* how many fit there */
	uint8_t length;   /* how many came */
	uint8_t left;     /* bytes of the present block still to come */
	uint8_t any;      /* a byte came since the last zero */
	uint8_t zero;     /* the present block ends with a zero if another follows */
	uint8_t overflow;
	uint16_t crc;
};

enum frame_result { FRAME_MORE, FRAME_EMPTY, FRAME_GOOD, FRAME_BAD };

/* Takes one received byte. After FRAME_GOOD d->length is the length of the
 * message with its check, until the next byte. */
enum frame_result frame_next(struct frame_decoder *d, uint8_t byte);

/* Forgets what has been received of a frame. */
static inline void frame_forget(struct frame_decoder *d)
{
	d->any = 0;
}

#endif
