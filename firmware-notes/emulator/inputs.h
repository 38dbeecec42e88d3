/* What the outside will do to the board's pins, scheduled by the host. */
#ifndef INPUTS_H
#define INPUTS_H

struct mcu;

#define INPUTS_MAX 4096

enum { ANALOGUE_AIN0 = 8, ANALOGUE_AIN1 = 9, ANALOGUE_CHANNELS = 10 }; /* 0-7: ADC0-ADC7 */

enum { WIRE_OUT, WIRE_IN, WIRE_INVERTED }; /* what becomes of a wire */

struct input {
	cycle_t when;
	char port;        /* 'B', 'C', 'D', or 'A' for an analogue level */
	uint8_t bit;      /* pin, or analogue channel */
	uint16_t value;   /* level, or millivolts; of a wire WIRE_OUT and so on */
	char from_port;   /* the wire's other end; 0: no wire, a level */
	uint8_t from_bit;
};

struct inputs {
	struct input queue[INPUTS_MAX]; /* by time, those of one edge in order of arrival */
	int first, count;
	uint16_t millivolts[ANALOGUE_CHANNELS]; /* held by the host */
};

void inputs_schedule(struct mcu *m, struct input in);
void inputs_event(struct mcu *m, cycle_t edge);
/* What stands on an analogue input: a wire goes before the host. */
uint16_t inputs_millivolts(const struct mcu *m, int channel);

#endif
