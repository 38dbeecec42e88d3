/* Timing of pulses on the throttle line (ICP1) or on the pickup probe (the
 * analogue comparator against the bandgap), by Timer1's capture unit. */
#ifndef CAPTURE_H
#define CAPTURE_H

#include <stdint.h>

#include "wire.h"

/* Pulses that did not fit or had no end. */
extern volatile uint8_t capture_lost;

/* Starts over, with an empty queue. Interrupts must be off; the probe's
 * reference must have had its start-up time. */
void capture_configure(uint8_t probe, uint8_t low);
/* Switches the probe's reference on. */
void capture_start(void);
/* Begins a new slice of time when the last is over. Edges beyond what a slice
 * has room for are not looked at, so that no input, whatever is on it, keeps
 * the board busy; a pulse that this spoils is counted as lost. Called all the
 * time. */
void capture_slice(uint32_t now);
/* Moves up to `most` captured pulses to p, oldest first; gives how many. */
uint8_t capture_take(struct wire_pulse *p, uint8_t most);
/* The line's level now. */
uint8_t capture_level(void);
/* Gives up a pulse that has lasted longer than a Pulse can tell. Interrupts
 * must be off. */
void capture_give_up(uint32_t now);

#endif
