/* Wires that the outside puts from one of the board's pins to another. */
#ifndef WIRES_H
#define WIRES_H

struct mcu;

#define WIRES_MAX 16

struct wire {
	char from_port; /* 'B', 'C', 'D' */
	uint8_t from_bit;
	char to_port;   /* 'B', 'C', 'D', or 'A' for an analogue input */
	uint8_t to_bit;
	bool inverted;  /* a transistor in it turns the level over */
};

struct wires {
	struct wire wire[WIRES_MAX];
	int count;
};

void wires_init(struct mcu *m);
/* Puts a wire in from `edge` on, in place of one between the same pins. */
void wires_put(struct mcu *m, struct wire w, cycle_t edge);
/* Takes the wire between the same pins out, if there is one. */
void wires_take(struct mcu *m, struct wire w, cycle_t edge);

#endif
