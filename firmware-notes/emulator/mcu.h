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

#include "fatal.h"
#include "tell.h"
#include "event.h"
#include "hook.h"
#include "analogue.h"
#include "irq.h"
#include "ports.h"
#include "timer.h"
#include "timer1.h"
#include "timer2.h"
#include "usart.h"
#include "comparator.h"
#include "adc.h"
#include "watchdog.h"
#include "wires.h"
#include "inputs.h"
#include "unmodelled.h"

struct mcu {
	avr_t *avr;

	struct events events;
	cycle_t floor;     /* inputs may be scheduled from here on */
	cycle_t delimiter; /* a zero byte has left at this cycle and not been told */
	cycle_t held_until; /* the reset is held until here */
	bool reset_wanted;  /* the watchdog has bitten */
	bool sleeping;
	bool interrupt_delay; /* one more instruction before any interrupt */

	struct irq irq;
	struct analogue analogue;
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

#endif
