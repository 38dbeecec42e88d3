/* The watchdog: timed changes, interrupt mode, reset mode, and both. */
#ifndef WATCHDOG_H
#define WATCHDOG_H

struct mcu;

struct watchdog {
	cycle_t fed;     /* last WDR, reset or switching on */
	cycle_t window;  /* WDE and WDP may be changed up to this cycle */
	bool flag;       /* WDIF */
};

void watchdog_init(struct mcu *m);
/* At a reset by the watchdog it goes on running with the shortest time-out. */
void watchdog_reset(struct mcu *m, bool bitten);

#endif
