/* What the outside will do to the board's pins, scheduled by the host. */
#ifndef INPUTS_H
#define INPUTS_H

struct mcu;

#define INPUTS_MAX 65536

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
};

void inputs_init(struct mcu *m);
void inputs_schedule(struct mcu *m, struct input in);

#endif
