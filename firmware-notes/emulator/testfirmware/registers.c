/* Register semantics that no pin shows: the firmware looks, and reports what it saw. */
#include "report.h"

static volatile uint8_t served;

ISR(TIMER1_COMPA_vect)
{
	served++;
}

static void stop_timer1(void)
{
	TCCR1B = 0;
	TCCR1A = 0;
	TIMSK1 = 0;
	OCR1A = OCR1B = 0xffff;
	TCNT1 = 0;
	TIFR1 = 0xff;
}

/* One TEMP for all 16-bit registers; OCR1x is read without it. */
static void temp(void)
{
	stop_timer1();
	OCR1AH = 0xab;
	TCNT1L = 0x55;
	REPORT("temp_shared_by_writes", TCNT1);

	TCNT1 = 0x1234;
	uint8_t low = TCNT1L;
	(void)ICR1L; /* another 16-bit read comes between */
	uint8_t high = TCNT1H;
	REPORT("temp_overwritten_by_icr1", (uint16_t)high << 8 | low);

	OCR1B = 0x9876;
	low = TCNT1L;
	(void)OCR1BL;
	high = TCNT1H;
	REPORT("temp_untouched_by_ocr1_reads", (uint16_t)high << 8 | low);
	REPORT("ocr1b", OCR1B);
}

/* Two reads of a running count, two cycles an instruction. */
static void running(void)
{
	uint8_t a, b;

	stop_timer1();
	TCCR1B = 1 << CS10;
	__asm__ volatile("lds %0, %2\n\tlds %1, %2" : "=r"(a), "=r"(b) : "n"(_SFR_MEM_ADDR(TCNT1L)));
	REPORT("lds_apart", (uint8_t)(b - a));
	TCCR1B = 0;
	uint8_t stopped = TCNT1L;
	REPORT("stopped", (uint8_t)(TCNT1L - stopped));
}

static void wait_all_flags(void)
{
	stop_timer1();
	OCR1A = 10;
	OCR1B = 20;
	TCNT1 = 0xfff0;
	TCCR1B = 1 << CS10;
	while (!(TIFR1 & 1 << OCF1B))
		;
	TCCR1B = 0;
}

static void flags(void)
{
	const uint8_t all = 1 << TOV1 | 1 << OCF1A | 1 << OCF1B;

	wait_all_flags();
	REPORT("flags_all", TIFR1 & all);
	TIFR1 = 1 << OCF1A;
	REPORT("flags_after_ocf1a", TIFR1 & all);
	__asm__ volatile("sbi %0, %1" : : "I"(_SFR_IO_ADDR(TIFR1)), "I"(TOV1));
	REPORT("flags_after_sbi_tov1", TIFR1 & all);
	__asm__ volatile("cbi %0, %1" : : "I"(_SFR_IO_ADDR(TIFR1)), "I"(OCF1A));
	REPORT("flags_after_cbi_ocf1a", TIFR1 & all);
	TIFR1 = 0;
	REPORT("flags_after_zero", TIFR1 & all);
}

/* A flag raised while masked waits for its mask, and entering the vector clears it alone. */
static void masked(void)
{
	wait_all_flags();
	served = 0;
	sei();
	__asm__ volatile("nop\n\tnop\n\tnop");
	REPORT("masked_served", served);
	TIMSK1 = 1 << OCIE1A;
	__asm__ volatile("nop\n\tnop\n\tnop");
	cli();
	TIMSK1 = 0;
	REPORT("unmasked_served", served);
	REPORT("unmasked_flags", TIFR1);
}

/* SEI, CLI: the instruction after SEI is executed before any interrupt, so none gets in. */
static void sei_delay(void)
{
	wait_all_flags();
	served = 0;
	TIMSK1 = 1 << OCIE1A;
	__asm__ volatile("sei\n\tcli");
	REPORT("sei_cli_served", served);
	__asm__ volatile("sei\n\tnop\n\tcli");
	REPORT("sei_nop_cli_served", served);
	TIMSK1 = 0;
}

/* Turning the capture's edge over while ICP1 rests at the new edge's level. */
static void edge_change(void)
{
	stop_timer1();
	TCCR1B = 1 << ICES1;
	TIFR1 = 1 << ICF1;
	REPORT("icf1_before_edge_change", TIFR1 >> ICF1 & 1);
	TCCR1B = 0;
	REPORT("icf1_after_edge_change", TIFR1 >> ICF1 & 1);
	TIFR1 = 1 << ICF1;
}

static uint8_t match_after(uint16_t from, uint16_t compare)
{
	stop_timer1();
	OCR1A = compare;
	TCNT1 = from;
	TCCR1B = 1 << CS10;
	__asm__ volatile("nop\n\tnop\n\tnop\n\tnop");
	TCCR1B = 0;
	return TIFR1 & 1 << OCF1A;
}

static void matches(void)
{
	REPORT("match_at_written_count", match_after(0x100, 0x100));
	REPORT("match_one_further", match_after(0x0ff, 0x100));

	/* A compare value just past comes round only after a whole turn. */
	uint16_t turns = 0;

	stop_timer1();
	TCCR1B = 1 << CS10;
	while (TCNT1 < 5000)
		;
	OCR1A = TCNT1 - 4;
	TIFR1 = 0xff;
	while (!(TIFR1 & 1 << OCF1A))
		turns += (TIFR1 & 1 << TOV1) ? TIFR1 = 1 << TOV1, 1 : 0;
	REPORT("late_compare_overflows", turns);
}

static void forced(void)
{
	stop_timer1();
	DDRB = 1 << PB1;
	TCCR1A = 1 << COM1A1 | 1 << COM1A0;
	__asm__ volatile("nop");
	REPORT("oc1a_before_force", PINB >> PB1 & 1);
	TCCR1C = 1 << FOC1A;
	__asm__ volatile("nop");
	REPORT("oc1a_after_force_set", PINB >> PB1 & 1);
	REPORT("force_flags", TIFR1);
	REPORT("force_reads", TCCR1C);
	TCCR1A = 1 << COM1A1;
	TCCR1C = 1 << FOC1A;
	__asm__ volatile("nop");
	REPORT("oc1a_after_force_clear", PINB >> PB1 & 1);
	TCCR1A = 0;
}

static void pins(void)
{
	uint8_t at_once, later;

	DDRB = 0xfe;
	PORTB = 0;
	__asm__ volatile("sbi %2, 5\n\tin %0, %3\n\tin %1, %3"
			 : "=r"(at_once), "=r"(later)
			 : "I"(_SFR_IO_ADDR(PORTB)), "I"(_SFR_IO_ADDR(PINB)));
	REPORT("pin_read_at_once", at_once >> 5 & 1);
	REPORT("pin_read_later", later >> 5 & 1);
	PORTB = 1 << PB5 | 1 << PB4;
	__asm__ volatile("nop\n\tsbi %0, 3" : : "I"(_SFR_IO_ADDR(PINB)));
	REPORT("portb_after_sbi_pinb3", PORTB);
	PINB = 1 << PB5;
	REPORT("portb_after_pinb_5", PORTB);
	PORTB = 0;
	DDRB = 0;
}

/* Timer2 at a prescaler of 8: a match takes a timer tick, not a cycle. */
static void timer2(void)
{
	TCNT2 = 0;
	OCR2A = 3;
	OCR2B = 0;
	TIFR2 = 0xff;
	GTCCR = 1 << PSRASY;
	TCCR2B = 1 << CS21;
	while (!(TIFR2 & 1 << OCF2A))
		;
	uint8_t at_match = TCNT2;

	while (!(TIFR2 & 1 << TOV2))
		;
	uint8_t at_overflow = TCNT2;

	REPORT("tcnt2_at_ocf2a", at_match);
	REPORT("tcnt2_at_tov2", at_overflow);
	TIFR2 = 1 << TOV2;
	REPORT("tifr2_after_tov2", TIFR2);
	TCCR2B = 0;
}

int main(void)
{
	uint8_t cause = MCUSR, marker = GPIOR2;

	serial_init();
	REPORT("reset_cause", cause);
	REPORT("marker", marker);
	temp();
	running();
	flags();
	masked();
	sei_delay();
	edge_change();
	matches();
	forced();
	pins();
	timer2();
	report_end();
	for (;;)
		;
}
