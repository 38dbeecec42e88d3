#include "mcu.h"

void analogue_hold(struct mcu *m, int channel, uint16_t millivolts)
{
	m->analogue.held[channel] = millivolts;
}

void analogue_wire(struct mcu *m, int channel, bool held, uint16_t millivolts)
{
	uint16_t mask = 1 << channel;

	m->analogue.wired = held ? m->analogue.wired | mask : m->analogue.wired & ~mask;
	m->analogue.wire[channel] = millivolts;
}

uint16_t analogue_millivolts(const struct mcu *m, int channel)
{
	return m->analogue.wired >> channel & 1 ? m->analogue.wire[channel] : m->analogue.held[channel];
}
