/* The levels on the analogue inputs. */
#ifndef ANALOGUE_H
#define ANALOGUE_H

struct mcu;

enum { ANALOGUE_AIN0 = 8, ANALOGUE_AIN1 = 9, ANALOGUE_CHANNELS = 10 }; /* 0-7: ADC0-ADC7 */

struct analogue {
	uint16_t held[ANALOGUE_CHANNELS];  /* by the host, in millivolts */
	uint16_t wire[ANALOGUE_CHANNELS];  /* by a wire, which goes before */
	uint16_t wired;                    /* bit n: a wire holds input n */
};

void analogue_hold(struct mcu *m, int channel, uint16_t millivolts);
/* A wire holds an input at a level, or holds it no longer. */
void analogue_wire(struct mcu *m, int channel, bool held, uint16_t millivolts);
uint16_t analogue_millivolts(const struct mcu *m, int channel);

#endif
