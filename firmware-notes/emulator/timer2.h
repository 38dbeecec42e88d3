/* Timer2: the 8-bit timer on the system clock, and the prescaler resets. */
#ifndef TIMER2_H
#define TIMER2_H

struct mcu;

void timer2_init(struct mcu *m);
void timer2_reset(struct mcu *m);

#endif
