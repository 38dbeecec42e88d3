/* The select line: servo pulses on OC2A in steps of half a microsecond. The
 * stick line's frame calls for each pulse. */
#ifndef SELECT_H
#define SELECT_H

#include <stdint.h>

#include "board.h"

/* The pulse starts this long after the stick line's frame. The call for it
 * comes when every stick pulse has ended, and well before the next one starts
 * even in the shortest frame, so that the two lines' interrupts keep apart. */
#define SELECT_OFFSET_TICKS (WIRE_MAX_SERVO_TICKS + 4800)
#define SELECT_LEAD_TICKS 1280
#define SELECT_CALL_TICKS (SELECT_OFFSET_TICKS - SELECT_LEAD_TICKS)

void select_start(void);
/* Sets the width in ticks, 0 for none, from the next pulse on. Interrupts
 * must be off. */
void select_set(uint16_t width);
/* Plays one pulse that starts at the given tick, which is less than 128 us
 * ahead. Called in the stick line's interrupt. */
void select_begin(uint32_t start);

#endif
