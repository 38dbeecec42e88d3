/* The pickup line: a train of pulses on OC1A, every edge made by the timer. */
#ifndef PICKUP_H
#define PICKUP_H

#include <stdint.h>

#include "wire.h"

/* What has been played: the number of pulses, and the leading edges of the
 * newest, each at its number modulo PICKUP_EDGES. Read with interrupts off. */
#define PICKUP_EDGES 8
extern uint8_t pickup_sent;
extern uint32_t pickup_edges[PICKUP_EDGES];
/* Whether pulses are being played. */
extern volatile uint8_t pickup_playing;

void pickup_start(void);

/* Hands over a new plan in two steps: the pulses of a Drive, or none.
 * pickup_prepare copies it and may be interrupted; an edge that is past at tick
 * now is brought up to it. pickup_take makes it count; interrupts must be off. */
void pickup_prepare(const struct wire_drive *m, uint32_t now);
void pickup_take(void);

/* Faults. Interrupts must be off. */
void pickup_drop(uint16_t pulses);
void pickup_stray(uint16_t microseconds);

/* Plays no further pulse; one under way ends at its time. Interrupts must be
 * off. */
void pickup_stop(void);
/* Whether no pulse is under way and none will come. */
uint8_t pickup_resting(void);
/* Sets the width of pulses and their level, and starts the counts over. Only
 * while resting, with interrupts off. */
void pickup_configure(uint16_t width, uint8_t low);

#endif
