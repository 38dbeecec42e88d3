#include "serial.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

#include "sink.h"

volatile uint8_t serial_in[256];
volatile uint8_t serial_in_end;
volatile uint8_t serial_in_start;
volatile uint8_t serial_overruns;
volatile uint8_t serial_misframed;

static uint8_t out[256];
static uint8_t out_end;
static uint8_t out_start;

/* Data sheet, "Examples of Baud Rate Setting": both speeds are exact at 16 MHz;
 * normal mode takes 16 samples a bit and so bears a little more difference
 * between the two ends' clocks. */
#define UBRR(baud) (F_CPU / 16 / (baud) - 1)

void serial_start(void)
{
	PORTD |= _BV(PIN_RXD); /* an open line rests */
	UBRR0 = UBRR(WIRE_BAUD_FAST);
	UCSR0A = 0;
	UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
	UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

/* Data sheet, "Disabling the Receiver": that empties its buffer. */
void serial_change_speed(void)
{
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		UCSR0B &= (uint8_t)~_BV(RXEN0);
		UBRR0 = UBRR0 == UBRR(WIRE_BAUD_FAST) ? UBRR(WIRE_BAUD_SLOW) : UBRR(WIRE_BAUD_FAST);
		UCSR0B |= _BV(RXEN0);
		serial_in_start = serial_in_end;
	}
}

uint8_t serial_room(uint8_t n)
{
	return (uint8_t)(out_start - out_end - 1) >= n;
}

void serial_send(void)
{
	if (out_start != out_end && (UCSR0A & _BV(UDRE0)))
		UDR0 = out[out_start++];
}

void sink_wait(void)
{
	serial_send();
}

/* Queues one byte to send; needs room. */
void sink_put(uint8_t byte)
{
	out[out_end++] = byte;
	serial_send();
}

ISR(USART_RX_vect)
{
	serial_receive();
}
