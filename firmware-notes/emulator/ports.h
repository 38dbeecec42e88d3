/* Ports B, C and D: direction, output, timer overrides, pull-ups, driven inputs. */
#ifndef PORTS_H
#define PORTS_H

struct mcu;

typedef void (*ports_output_handler)(struct mcu *m, cycle_t edge);
/* changed and level have a bit for each pin. */
typedef void (*ports_level_handler)(struct mcu *m, char name, uint8_t changed, uint8_t level, cycle_t edge);

struct ports {
	ports_output_handler output_changed;
	ports_level_handler level_changed;
	struct port {
		uint8_t taken, forced; /* pins that a timer drives instead of PORT, and at which level */
		uint8_t driven, drive; /* pins held by the outside, and at which level */
		uint8_t wired, wire;   /* pins held by a wire, which goes before, and its level */
		uint8_t level;         /* what stands on the pins now */
		uint8_t before;        /* and before the last change */
		cycle_t changed;
		uint8_t told_ddr, told_out; /* last reported to the host */
	} port[3]; /* B, C, D */
};

void ports_init(struct mcu *m);
void ports_reset(struct mcu *m);
/* Who is told when what the board's outputs drive has changed, or a pin's level. */
void ports_on_output(struct mcu *m, ports_output_handler handler);
void ports_on_level(struct mcu *m, ports_level_handler handler);
/* A timer drives a pin at a level from `edge` on, or drives it no longer. */
void ports_override(struct mcu *m, char name, int bit, bool taken, bool level, cycle_t edge);
/* Holds an input at a level from `edge` on. */
void ports_drive(struct mcu *m, char name, int bit, bool level, cycle_t edge);
/* A wire holds an input at a level from `edge` on, or holds it no longer. */
void ports_wire(struct mcu *m, char name, int bit, bool held, bool level, cycle_t edge);
/* Whether a pin is an output, and what stands on it. */
bool ports_output(const struct mcu *m, char name, int bit, bool *high);
bool ports_level(const struct mcu *m, char name, int bit);

#endif
