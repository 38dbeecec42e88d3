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
#define FIRMWARE_MINOR 1U

/* One tick is one cycle of the processor: Timer1 counts with prescaler 1. */
#define TICK_HZ F_CPU
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

/* Limits told in Identity. The shortest pulse must outlast the longest time
 * for which interrupts can be held up, and so must the gap between two. */
#define MIN_WIDTH_TICKS 1600UL      /* 100 us */
#define MAX_WIDTH_TICKS 64000UL     /* 4 ms */
#define MIN_GAP_TICKS MIN_WIDTH_TICKS
#define MIN_PERIOD_TICKS 8000UL     /* 2000 pulses a second */
#define MAX_PERIOD_TICKS 8000000UL  /* 2 pulses a second */
#define MIN_TELEMETRY_TICKS 16000UL /* 1000 frames a second */
#define MIN_FAILSAFE_TICKS 160000UL /* 10 ms */
#define MAX_FAILSAFE_TICKS 16000000UL
#define MAX_SERVO_TICKS 40000UL          /* 2.5 ms */
#define MIN_SERVO_PERIOD_TICKS 48000UL   /* 3 ms, 333 pulses a second */
#define MAX_SERVO_PERIOD_TICKS 800000UL  /* 50 ms */

/* Keeps what is rare out of the way of what happens all the time: code in
 * the middle of an interrupt costs registers to be saved every time. */
#define RARE __attribute__((noinline))

/*
 * The cures of the ten traps that README names can be taken out
 * one at a time, to see a test fail. BREAK_TRAP is 0 in every real build.
 */
#ifndef BREAK_TRAP
#define BREAK_TRAP 0
#endif
#define CURE(trap) (BREAK_TRAP != (trap))

#endif
