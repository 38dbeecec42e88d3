/* What is told to the host at the end of a run, in the order of the cycles. */
#ifndef TELL_H
#define TELL_H

#include <stdint.h>

void tell_pins(char port, uint8_t ddr, uint8_t out, uint64_t when);
void tell_byte(uint8_t value, unsigned bit_cycles, uint64_t when);
void tell_reset(uint8_t cause, uint64_t when);
/* Gives the host what happened up to a cycle. */
void tell_host(uint64_t until);

#endif
