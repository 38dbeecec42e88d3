/* What the outside will do to the board's pins, scheduled by the host. */
#ifndef INPUTS_H
#define INPUTS_H

struct mcu;

#define INPUTS_MAX 4096

enum { ANALOGUE_AIN0 = 8, ANALOGUE_AIN1 = 9, ANALOGUE_CHANNELS = 10 }; /* 0-7: ADC0-ADC7 */

struct input {
	cycle_t when;
	char port;        /* 'B', 'C', 'D', or 'A' for an analogue level */
	uint8_t bit;      /* pin, or analogue channel */
	uint16_t value;   /* level, or millivolts */
};

struct inputs {
	struct input queue[INPUTS_MAX]; /* by time, those of one edge in order of arrival */
	int first, count;
	uint16_t millivolts[ANALOGUE_CHANNELS];
};

void inputs_schedule(struct mcu *m, struct input in);
void inputs_event(struct mcu *m, cycle_t edge);

#endif
