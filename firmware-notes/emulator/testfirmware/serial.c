/*
 * The serial port. The first byte says what to do:
 *   'e': echo; RXC is answered on PB5 by an interrupt
 *   'o': look away until PB0 rises, then report all that the receiver has
 *   't': send 0x55 0xAA at once, tell on PB5 when UDR is empty, on PB4 when all has left
 */
#include "report.h"

static void overruns(void)
{
	uint8_t seen = 0, status[4], data[4];

	loop_until_bit_is_set(PINB, PB0);
	for (; seen < 4; seen++) {
		status[seen] = UCSR0A;
		if (!(status[seen] & 1 << RXC0))
			break;
		data[seen] = UDR0;
	}
	REPORT("bytes", seen);
	for (uint8_t i = 0; i < seen; i++) {
		REPORT("overrun", status[i] >> DOR0 & 1);
		REPORT("frame_error", status[i] >> FE0 & 1);
		REPORT("data", data[i]);
	}
	report_end();
}

static void transmit(void)
{
	UCSR0A |= 1 << TXC0;
	UDR0 = 0x55;
	UDR0 = 0xaa;
	PORTB |= 1 << PB3;
	loop_until_bit_is_set(UCSR0A, UDRE0);
	PORTB |= 1 << PB5;
	loop_until_bit_is_set(UCSR0A, TXC0);
	PORTB |= 1 << PB4;
	report_end();
}

ISR(USART_RX_vect, ISR_NAKED)
{
	__asm__ volatile(
		"sbi %[portb], 5\n\t"
		"push r24\n\t"
		"lds r24, %[udr]\n\t"
		"sts %[udr], r24\n\t"
		"pop r24\n\t"
		"cbi %[portb], 5\n\t"
		"reti" : : [portb] "I"(_SFR_IO_ADDR(PORTB)), [udr] "n"(_SFR_MEM_ADDR(UDR0)));
}

int main(void)
{
	serial_init();
	DDRB = 1 << PB3 | 1 << PB4 | 1 << PB5;
	loop_until_bit_is_set(UCSR0A, RXC0);
	switch (UDR0) {
	case 'o':
		overruns();
		break;
	case 't':
		transmit();
		break;
	default:
		UCSR0B |= 1 << RXCIE0;
		sei();
	}
	for (;;)
		;
}
