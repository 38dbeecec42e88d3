/* The harness's side of the pipes: see README.md for the layout. */
#ifndef PIPE_H
#define PIPE_H

#include "mcu.h"

#define PIPE_VERSION 2

void pipe_open(void);
/* Serves the host until it says quit or hangs up. */
void pipe_serve(struct mcu *m);

/* Events, told at the end of a run in the order of their cycles. */
void pipe_pins(struct mcu *m, char port, uint8_t ddr, uint8_t out, cycle_t when);
void pipe_byte(struct mcu *m, uint8_t value, unsigned bit_cycles, cycle_t when);
void pipe_reset(struct mcu *m, uint8_t cause, cycle_t when);

#endif
