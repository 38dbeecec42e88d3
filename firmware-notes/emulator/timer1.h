/* Timer1: the 16-bit register access through TEMP, and the input capture unit. */
#ifndef TIMER1_H
#define TIMER1_H

#include "timer.h"

/* Levels on their way from the pin (or the comparator) to the edge detector. */
#define CAPTURE_DEPTH 8

struct timer1 {
	struct timer timer;
	uint8_t temp; /* one register for the high byte of every 16-bit access */
	uint16_t icr;
	struct {
		bool rising;           /* ICES1 */
		bool filtered;         /* ICNC1: the noise canceller */
		bool from_comparator;  /* ACIC */
		bool entering;         /* level last put into the queue */
		bool detected;         /* level last seen by the edge detector */
		int first, count;
		struct {
			cycle_t when;
			bool level;
		} queue[CAPTURE_DEPTH];
	} capture;
};

void timer1_init(struct mcu *m);
void timer1_reset(struct mcu *m);
/* The level of a capture source changed; ignored unless it is the chosen one. */
void timer1_capture_input(struct mcu *m, bool comparator, bool level, cycle_t when);
/* ACIC was written: the capture unit listens to the other source from edge on. */
void timer1_capture_source(struct mcu *m, bool comparator, bool level, cycle_t edge);

#endif
