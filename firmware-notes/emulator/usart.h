/* USART0, asynchronous, 8 data bits, no parity, 1 stop bit. */
#ifndef USART_H
#define USART_H

struct mcu;

/* Bytes that the host has on the wire or is going to put there. */
#define RXD_MAX 65536

struct rxd_byte {
	uint64_t start;  /* in 1/256 cycle */
	uint32_t bit;    /* length of a bit in 1/256 cycle */
	uint8_t value;
};

struct frame {
	uint8_t value;
	bool error; /* the stop bit was low */
};

struct usart {
	cycle_t clock_zero; /* the baud generator counts from here */

	struct rxd_byte line[RXD_MAX];
	int line_first, line_count;
	uint64_t line_free; /* in 1/256 cycle: the last byte ends here */

	struct {
		cycle_t first_sample; /* of the start bit */
		int bit;              /* 0 start, 1-8 data, 9 stop */
		uint8_t shift;
		struct frame fifo[2], held; /* the receive buffer, and the shift register behind it */
		int fifo_count;
		bool holding, overrun;
	} rx;

	struct {
		bool busy, full, done; /* shifting; UDR waiting (not UDRE); TXC */
		uint8_t shift, waiting;
	} tx;

	uint64_t overruns, frame_errors, received;
};

void usart_init(struct mcu *m);
void usart_reset(struct mcu *m);
/* Puts bytes on the board's RXD line, the first not before start. */
void usart_schedule(struct mcu *m, cycle_t start, uint32_t bit, const uint8_t *bytes, int count);

#endif
