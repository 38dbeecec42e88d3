/* What the test firmwares share: a serial port, and reports as "name=hex " ended by a zero byte. */
#ifndef REPORT_H
#define REPORT_H

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>

/* 500 kBd: 16 MHz / (8 * 4). */
static inline void serial_init(void)
{
	UBRR0H = 0;
	UBRR0L = 3;
	UCSR0A = 1 << U2X0;
	UCSR0B = 1 << TXEN0 | 1 << RXEN0;
}

static inline void send(uint8_t c)
{
	loop_until_bit_is_set(UCSR0A, UDRE0);
	UDR0 = c;
}

static inline void report_end(void)
{
	send(0);
}

static inline void report_name(PGM_P name)
{
	uint8_t c;

	while ((c = pgm_read_byte(name++)))
		send(c);
	send('=');
}

static inline void report_value(uint32_t v)
{
	for (int8_t shift = 28; shift >= 0; shift -= 4) {
		uint8_t digit = v >> shift & 15;

		send(digit < 10 ? '0' + digit : 'a' + digit - 10);
	}
	send(' ');
}

#define REPORT(name, value) \
	do { \
		uint32_t v_ = (value); \
		report_name(PSTR(name)); \
		report_value(v_); \
	} while (0)

#endif
