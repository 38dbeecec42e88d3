/* The RXD line as a function of time, made of the bytes the host has sent. */
#ifndef RXD_H
#define RXD_H

#include "mcu.h"

bool rxd_level(const struct usart *u, cycle_t now);
/* The first high-to-low step not before `now`, rounded up to a cycle; NEVER if none is known. */
cycle_t rxd_fall(const struct usart *u, cycle_t now);
/* Forgets the bytes that ended before now. */
void rxd_forget(struct usart *u, cycle_t now);

#endif
