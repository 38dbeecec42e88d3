/* The start of the chip. Before anything else runs, even before the memory is
 * set up, every register that could act on the board's lines or on its timing
 * is put back to what the data sheet gives as its initial value: a boot loader
 * leaves the ones that it used as they were. */
#ifndef CHIP_H
#define CHIP_H

#include <stdint.h>

/* MCUSR as the chip found it, and GPIOR2, which silicon resets to 0. */
extern uint8_t chip_reset_flags;
extern uint8_t chip_marker;

#endif
