/* The analogue comparator: AIN0 or the bandgap against AIN1 or an ADC pin. */
#ifndef COMPARATOR_H
#define COMPARATOR_H

struct mcu;

struct comparator {
	bool raw;     /* the comparator itself; feeds the capture unit */
	bool output;  /* ACO: raw behind its synchroniser */
	bool flag;    /* ACI */
};

void comparator_init(struct mcu *m);
void comparator_reset(struct mcu *m);
/* A level, a reference or a switch changed at edge. */
void comparator_refresh(struct mcu *m, cycle_t edge);

#endif
