/* The serial port: 500 or 250 kbaud, 8N1, a ring of bytes each way. Bytes are
 * received by interrupt and sent by the main loop. */
#ifndef SERIAL_H
#define SERIAL_H

#include <stdint.h>

#include <avr/io.h>

#include "board.h"

/* Indices are bytes and the rings 256 long, so they wrap by themselves. */
extern volatile uint8_t serial_in[256];
extern volatile uint8_t serial_in_end;
extern volatile uint8_t serial_in_start;
extern volatile uint8_t serial_overruns;
extern volatile uint8_t serial_misframed; /* bytes without a stop bit */

/* Starts at the fast speed. */
void serial_start(void);
/* Changes to the other speed; what has been received is forgotten. */
void serial_change_speed(void);
/* Whether n bytes have room on their way out. */
uint8_t serial_room(uint8_t n);
/* Gives the transmitter its next byte, if it can take one. The main loop calls
 * this all the time, which costs less than an interrupt for every byte. */
void serial_send(void);

static inline void serial_note(uint8_t status)
{
	if (status & _BV(DOR0))
		serial_overruns++;
	if (status & _BV(FE0))
		serial_misframed++;
}

/* Moves one byte from the receiver to the ring. */
static inline void serial_receive(void)
{
	uint8_t status = UCSR0A; /* read before UDR0, which takes it along */
	uint8_t byte = UDR0;
	uint8_t end = serial_in_end;
	uint8_t next = (uint8_t)(end + 1);

	if (status & (_BV(DOR0) | _BV(FE0)))
		serial_note(status);
	if (next == serial_in_start) {
		serial_overruns++;
		return;
	}
	serial_in[end] = byte;
	serial_in_end = next;
}

/* Called at the end of every timer interrupt: they come before the receiver's
 * in priority, and it holds no more than two bytes. */
static inline void serial_drain(void)
{
	if (!CURE(6))
		return;
	while (UCSR0A & _BV(RXC0))
		serial_receive();
}

/* Whether a byte has come. */
static inline uint8_t serial_waiting(void)
{
	return serial_in_start != serial_in_end;
}

/* Takes the oldest byte that has come. */
static inline uint8_t serial_get(void)
{
	uint8_t start = serial_in_start;
	uint8_t byte = serial_in[start];

	serial_in_start = (uint8_t)(start + 1);
	return byte;
}

#endif
