/*
 * The board: an ATmega328P at 16 MHz. Pins, limits, and the switch with which
 * tests take a cure out.
 *
 * "Data sheet" in these files means the ATmega328P data sheet (Atmel 7810 and
 * Microchip DS40002061); the words after it are the name of a section.
 */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

#include "wire.h"

#ifndef F_CPU
#define F_CPU 16000000UL
#endif
#if F_CPU != 16000000UL
#error "the firmware is for 16 MHz: baud rate, limits and hex are worked out for it"
#endif

#define FIRMWARE_MAJOR 1U
#define FIRMWARE_MINOR 3U

/* One tick is one cycle of the processor: Timer1 counts with prescaler 1. */
#if WIRE_TICK_HZ != F_CPU
#error "the wire counts another clock"
#endif
#define TICKS_PER_MICROSECOND (F_CPU / 1000000UL)

/* Pins. Outputs are fixed by the timers: OC1A, OC1B and OC2A. */
#define PIN_THROTTLE PB0 /* ICP1 */
#define PIN_PICKUP PB1   /* OC1A */
#define PIN_STICK PB2    /* OC1B */
#define PIN_SELECT PB3   /* OC2A */
#define PIN_RXD PD0
#define PIN_PROBE PD7    /* AIN1 */
#define PIN_LEVEL PC0    /* ADC0, joined to the probe */
#define LEVEL_CHANNEL 0

/* The limits are those of wire.h. The shortest pulse outlasts the longest time
 * for which interrupts can be held up, and so does the gap between two. */
#define MIN_GAP_TICKS WIRE_MIN_WIDTH_TICKS

/* Keeps what is rare out of the way of what happens all the time: code in
 * the middle of an interrupt costs registers to be saved every time. */
#define RARE __attribute__((noinline))

/*
 * The cures of the thirteen traps that README names can be taken out
 * one at a time, to see a test fail. BREAK_TRAP is 0 in every real build.
 */
#ifndef BREAK_TRAP
#define BREAK_TRAP 0
#endif
#define CURE(trap) (BREAK_TRAP != (trap))

#endif
