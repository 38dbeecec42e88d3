/* The stick line: servo pulses on OC1B. Its frame also starts the select
 * pulse. Widths are in ticks, 0 leaves the line low; a change takes effect at
 * the next pulse. */
#ifndef STICK_H
#define STICK_H

#include <stdint.h>

void stick_start(void);
/* Sets the frame and the width of the safe state. The first call starts the
 * frames, later ones let the present frame end. Interrupts must be off. */
void stick_configure(uint32_t period, uint16_t safe_width);
void stick_set(uint16_t width);
void stick_make_safe(void);

#endif
