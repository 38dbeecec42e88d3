/*
 * The emulated ATmega328P: simavr executes the instructions, and everything
 * around them (timers, serial port, pins, comparator, converter, watchdog,
 * interrupts, reset) is modelled here from the data sheet.
 *
 * Time is counted in CPU cycles since power-on. A clock edge "at T" begins
 * cycle T: a read made in cycle T sees every edge up to T, and a write made in
 * cycle T takes effect at edge T + 1.
 */
#ifndef MCU_H
#define MCU_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sim_avr.h>

#include "regs.h"

typedef uint64_t cycle_t;
#define NEVER UINT64_MAX

/* What can happen by itself. Two events at one edge run in this order. */
enum event {
	EV_INPUT,      /* a scheduled input level changes */
	EV_COMPARATOR, /* the comparator's output has passed its synchroniser */
	EV_CAPTURE,    /* a level reaches Timer1's edge detector */
	EV_T1_A,
	EV_T1_B,
	EV_T1_OVERFLOW,
	EV_T2_A,
	EV_T2_B,
	EV_T2_OVERFLOW,
	EV_RX, /* the receiver decides one bit */
	EV_TX, /* a frame's stop bit ends */
	EV_ADC,
	EV_WATCHDOG,
	EV_COUNT
};

#include "comparator.h"
#include "irq.h"
#include "inputs.h"
#include "wires.h"
#include "ports.h"
#include "timer.h"
#include "timer1.h"
#include "timer2.h"
#include "usart.h"
#include "watchdog.h"
#include "adc.h"

struct mcu {
	avr_t *avr;

	cycle_t when[EV_COUNT];
	cycle_t next; /* the earliest of when[] */
	enum event next_event;

	cycle_t floor;     /* inputs may be scheduled from here on */
	cycle_t delimiter; /* a zero byte has left at this cycle and not been told */
	cycle_t held_until; /* the reset is held until here */
	bool reset_wanted;  /* the watchdog has bitten */
	bool sleeping;
	bool interrupt_delay; /* one more instruction before any interrupt */

	struct irq irq;
	struct inputs inputs;
	struct wires wires;
	struct ports ports;
	struct timer1 timer1;
	struct timer timer2;
	struct usart usart;
	struct comparator comparator;
	struct adc adc;
	struct watchdog watchdog;

	uint64_t sleep_cycles;
	uint32_t resets;
	uint16_t lowest_sp;
};

void mcu_init(struct mcu *m, const char *firmware);
void mcu_reset(struct mcu *m, uint8_t cause);
/* Runs to cycle until, or to the end of a zero byte if asked; returns where it stopped. */
cycle_t mcu_run(struct mcu *m, cycle_t until, bool stop_at_delimiter);

void event_set(struct mcu *m, enum event e, cycle_t when);
/* Lets every edge up to and including t happen. */
void events_until(struct mcu *m, cycle_t t);

/* The cycle in which the instruction now executing reads or writes a register. */
cycle_t access_read(struct mcu *m);
cycle_t access_write(struct mcu *m);
/* The bits that a write to a flag register really strikes (SBI and CBI strike one or none). */
uint8_t access_struck(struct mcu *m, uint8_t value);

/* Ends the harness with a message to the host. */
_Noreturn void fatal(struct mcu *m, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

void hook(struct mcu *m, uint16_t address, avr_io_read_t read, avr_io_write_t write);
void hook_unmodelled(struct mcu *m);

#endif
