/*
 * What an interrupt costs. OC1A toggles at each match and the vector answers on
 * PB5; the program meets it among one-cycle instructions, then asleep.
 */
#include <avr/interrupt.h>
#include <avr/sleep.h>
#include <avr/io.h>

ISR(TIMER1_COMPA_vect, ISR_NAKED)
{
	__asm__ volatile(
		"sbi %[portb], 5\n\t"
		"cbi %[portb], 5\n\t"
		"reti" : : [portb] "I"(_SFR_IO_ADDR(PORTB)));
}

int main(void)
{
	DDRB = 1 << PB1 | 1 << PB5;
	OCR1A = 300;
	TCCR1A = 1 << COM1A0;
	TIMSK1 = 1 << OCIE1A;
	set_sleep_mode(SLEEP_MODE_IDLE);
	sleep_enable();
	sei();
	TCCR1B = 1 << CS10;
	__asm__ volatile(".rept 600\n\tnop\n\t.endr");
	for (;;)
		__asm__ volatile("sleep");
}
