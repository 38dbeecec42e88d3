/* Ports B, C and D: direction, output, timer overrides, pull-ups, driven inputs. */
#ifndef PORTS_H
#define PORTS_H

struct mcu;

struct ports {
	struct port {
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
/* Works out every pin again after something that drives them changed at `edge`. */
void ports_refresh(struct mcu *m, cycle_t edge);
/* Holds an input at a level from `edge` on. */
void ports_drive(struct mcu *m, char name, int bit, bool level, cycle_t edge);
/* A wire holds an input at a level from `edge` on, or holds it no longer. */
void ports_wire(struct mcu *m, char name, int bit, bool held, bool level, cycle_t edge);
/* Whether a pin is an output, and what stands on it. */
bool ports_output(const struct mcu *m, char name, int bit, bool *high);
bool ports_level(const struct mcu *m, char name, int bit);

#endif
