#include "capture.h"

#include <avr/cpufunc.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "board.h"
#include "clock.h"
#include "serial.h"

/* Data sheet, "Input Capture Unit" and "External Clock Source": the input goes
 * through the same synchroniser and edge detector as the T1 pin, 2.5 to 3.5
 * cycles. */
#define DELAY_TICKS 3

#define LONGEST_TICKS 0xFFFFFFUL

#define QUEUE_SIZE 8 /* a power of two */

/* A slice of time, 0.5 ms, has room for so many captures: three pulses, 6000 a
 * second. That many interrupts in a row take less than 100 us, the shortest
 * pulse of the lines that are played. */
#define SLICE_TICKS 8000
#define CAPTURES_A_SLICE 6

/* Both edges of each pulse. The one at queue_end is under way. */
static struct {
	uint32_t start;
	uint32_t end;
} queue[QUEUE_SIZE];
static volatile uint8_t queue_end; /* written by the interrupt */
static volatile uint8_t queue_start;

volatile uint8_t capture_lost;

static uint8_t probe;
static uint8_t low_pulses;
static uint8_t in_pulse; /* the leading edge has been seen */
static uint8_t room = CAPTURES_A_SLICE; /* captures of this slice still to come */
static uint16_t slice;                  /* its start */

void capture_start(void)
{
	ACSR = _BV(ACBG);
	DIDR1 = _BV(AIN1D);
}

/* The comparator's output is high while the bandgap is above the probe. */
uint8_t capture_level(void)
{
	if (probe)
		return !(ACSR & _BV(ACO));
	return (PINB & _BV(PIN_THROTTLE)) != 0;
}

static uint8_t line_active(void)
{
	return capture_level() != low_pulses;
}

/* Waits for the edge that starts or ends a pulse. */
static void watch(void)
{
	uint8_t up = in_pulse == low_pulses; /* of the line */

	if (up != probe)
		TCCR1B |= _BV(ICES1);
	else
		TCCR1B &= (uint8_t)~_BV(ICES1);
	/* Data sheet, "Measurement of an External Signal's Duty Cycle": after a
	 * change of the edge the flag must be cleared. */
	if (CURE(8))
		TIFR1 = _BV(ICF1);
}

/* Whether the line changed unseen while the edge was being switched: it is
 * not as it was left and no capture of that is on its way. */
static uint8_t missed(void)
{
	if (!CURE(8) || line_active() == in_pulse)
		return 0;
	_NOP(); /* the pin is read sooner than the capture unit sees it */
	_NOP();
	return !(TIFR1 & _BV(ICF1));
}

/* Keeps the pulse under way, which has ended. */
static inline void push(void)
{
	uint8_t next = (queue_end + 1) % QUEUE_SIZE;

	if (next == queue_start)
		capture_lost++;
	else
		queue_end = next;
}

static void drop_pulse(void)
{
	capture_lost++;
	in_pulse = 0;
	watch();
}

ISR(TIMER1_CAPT_vect)
{
	uint16_t count = ICR1;
	uint32_t now = CURE(1) ? clock_extend(count) : clock_join(clock_high, count);

	if (in_pulse) {
		queue[queue_end].end = now;
		push();
		in_pulse = 0;
	} else {
		queue[queue_end].start = now;
		in_pulse = 1;
	}
	watch();
	if (missed()) {
		if (in_pulse)
			drop_pulse(); /* it has ended already */
		else
			capture_lost++; /* the next one has begun already */
	}
	if (CURE(11) && !--room)
		TIMSK1 &= (uint8_t)~_BV(ICIE1);
	serial_drain();
}

/* Edges have gone by unseen since the interrupt was switched off: what was
 * under way is lost, and the next leading edge starts anew. */
static RARE void resume(void)
{
	drop_pulse();
	TIFR1 = _BV(ICF1);
	TIMSK1 |= _BV(ICIE1);
}

void capture_slice(uint32_t now)
{
	if ((uint16_t)((uint16_t)now - slice) < SLICE_TICKS)
		return;
	slice = (uint16_t)now;
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		if (!room)
			resume();
		room = CAPTURES_A_SLICE;
	}
}

void capture_configure(uint8_t from_probe, uint8_t low)
{
	TIMSK1 &= (uint8_t)~_BV(ICIE1);
	probe = from_probe;
	low_pulses = low;
	in_pulse = 0;
	room = CAPTURES_A_SLICE;
	queue_start = queue_end;
	if (probe)
		ACSR |= _BV(ACIC);
	else
		ACSR &= (uint8_t)~_BV(ACIC);
	watch();
	TIFR1 = _BV(ICF1);
	TIMSK1 |= _BV(ICIE1);
}

uint8_t capture_take(struct wire_pulse *p, uint8_t most)
{
	uint8_t n = 0;
	uint8_t at = queue_start;

	while (n < most && at != queue_end) {
		p[n].start_ticks = queue[at].start - DELAY_TICKS;
		p[n].width_ticks = queue[at].end - queue[at].start;
		n++;
		at = (at + 1) % QUEUE_SIZE;
	}
	_MemoryBarrier(); /* the interrupt may now use the places again */
	queue_start = at;
	return n;
}

void capture_give_up(uint32_t now)
{
	if (in_pulse && now - queue[queue_end].start > LONGEST_TICKS)
		drop_pulse();
}
