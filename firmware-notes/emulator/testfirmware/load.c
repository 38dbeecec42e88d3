/*
 * About the load of a real session: pickup and stick pulses from compare
 * interrupts, captured throttle pulses, a frame of 24 bytes every 2 ms, and
 * whatever the host sends summed up in it.
 */
#include <string.h>

#include "report.h"

#define PICKUP_PERIOD 60000U
#define PICKUP_WIDTH 8000U
#define STICK_WIDTH 24000U
#define FRAME_TICKS 32000U

static volatile uint16_t start, width, overflows;
static volatile uint8_t pulses, sum;

ISR(TIMER1_COMPA_vect)
{
	if (TCCR1A & 1 << COM1A0) { /* it has just risen */
		TCCR1A &= ~(1 << COM1A0);
		OCR1A += PICKUP_WIDTH;
	} else {
		TCCR1A |= 1 << COM1A0;
		OCR1A += PICKUP_PERIOD - PICKUP_WIDTH;
	}
}

ISR(TIMER1_COMPB_vect)
{
	if (TCCR1A & 1 << COM1B0) {
		TCCR1A &= ~(1 << COM1B0);
		OCR1B += STICK_WIDTH;
	} else {
		TIMSK1 &= ~(1 << OCIE1B);
	}
}

ISR(TIMER1_OVF_vect)
{
	if (++overflows % 5)
		return;
	TCCR1A |= 1 << COM1B0;
	OCR1B = TCNT1 + 500;
	TIFR1 = 1 << OCF1B;
	TIMSK1 |= 1 << OCIE1B;
}

ISR(TIMER1_CAPT_vect)
{
	uint16_t at = ICR1;

	if (TCCR1B & 1 << ICES1) {
		start = at;
	} else {
		width = at - start;
		pulses++;
	}
	TCCR1B ^= 1 << ICES1;
	TIFR1 = 1 << ICF1;
}

ISR(USART_RX_vect)
{
	sum += UDR0;
}

int main(void)
{
	uint16_t last = 0;
	uint8_t frame[24];

	memset(frame, 0xaa, sizeof frame);
	serial_init();
	UCSR0B |= 1 << RXCIE0;
	DDRB = 1 << PB1 | 1 << PB2;
	TCCR1A = 1 << COM1A1 | 1 << COM1A0 | 1 << COM1B1;
	OCR1A = PICKUP_PERIOD;
	TIMSK1 = 1 << OCIE1A | 1 << TOIE1 | 1 << ICIE1;
	TCCR1B = 1 << ICES1 | 1 << CS10;
	TIFR1 = 1 << ICF1;
	sei();
	for (;;) {
		cli();
		uint16_t now = TCNT1, w = width;
		uint8_t n = pulses, s = sum;
		sei();

		if ((uint16_t)(now - last) < FRAME_TICKS)
			continue;
		last += FRAME_TICKS;
		frame[0] = 0x80 | n; /* none of these is zero, which ends a frame */
		frame[1] = 0x80 | (w & 0x7f);
		frame[2] = 0x80 | (w >> 7 & 0x7f);
		frame[3] = 0x80 | w >> 14;
		frame[4] = 0x80 | (s & 0x7f);
		for (uint8_t i = 0; i < sizeof frame; i++)
			send(frame[i]);
		send(0);
	}
}
