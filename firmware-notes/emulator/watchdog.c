#include "mcu.h"

#include <avr_watchdog.h>

enum { CYCLES_PER_CLOCK = 16000000 / 128000 }; /* nominal; the real oscillator is a coarse one */

static struct mcu *owner;

static cycle_t timeout(const struct mcu *m)
{
	uint8_t v = m->avr->data[WDTCSR];
	unsigned prescale = (v >> 2 & 8) | (v & 7);

	return (cycle_t)CYCLES_PER_CLOCK * (2048u << (prescale > 9 ? 9 : prescale));
}

static bool running(const struct mcu *m)
{
	return m->avr->data[WDTCSR] & (1 << WDE | 1 << WDIE);
}

static void schedule(struct mcu *m, cycle_t edge)
{
	cycle_t bite = m->watchdog.fed + timeout(m);

	event_set(m, EV_WATCHDOG, !running(m) ? NEVER : bite > edge ? bite : edge + 1);
}

static void request(struct mcu *m, cycle_t when)
{
	irq_line(m, WDT_vect_num, m->watchdog.flag && m->avr->data[WDTCSR] & 1 << WDIE, when);
}

void watchdog_reset(struct mcu *m, bool bitten)
{
	m->watchdog = (struct watchdog){ .fed = m->held_until };
	m->avr->data[WDTCSR] = bitten ? 1 << WDE : 0;
	schedule(m, m->held_until);
}

static void bite_event(struct mcu *m, cycle_t edge)
{
	uint8_t v = m->avr->data[WDTCSR];

	if (v & 1 << WDE && (!(v & 1 << WDIE) || m->watchdog.flag)) {
		m->reset_wanted = true;
		event_set(m, EV_WATCHDOG, NEVER);
		return;
	}
	m->watchdog.flag = true;
	m->watchdog.fed = edge;
	request(m, edge);
	schedule(m, edge);
}

static void acknowledge(struct mcu *m, int vector, cycle_t when)
{
	(void)vector;
	m->watchdog.flag = false;
	if (m->avr->data[WDTCSR] & 1 << WDE)
		m->avr->data[WDTCSR] &= ~(1 << WDIE); /* next time it is a reset */
	request(m, when);
}

static uint8_t read_wdtcsr(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;
	cycle_t now = access_read(m);

	events_until(m, now);
	return avr->data[a] | m->watchdog.flag << WDIF | (now <= m->watchdog.window) << WDCE;
}

static void write_wdtcsr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t now = access_write(m), edge = now + 1;
	const uint8_t wdp = 1 << WDP3 | 7;
	uint8_t old, wde;
	bool was_running;

	events_until(m, edge);
	old = avr->data[a];
	was_running = running(m);
	wde = (old | v) & 1 << WDE; /* it may be set at any time */
	if (v & 1 << WDCE && v & 1 << WDE) {
		m->watchdog.window = now + 4;
		avr->data[a] = (old & wdp) | wde | (v & 1 << WDIE);
	} else if (now <= m->watchdog.window) {
		if (!(avr->data[MCUSR] & 1 << WDRF))
			wde = v & 1 << WDE; /* "WDE is overridden by WDRF in MCUSR" */
		m->watchdog.window = 0;
		avr->data[a] = (v & wdp) | wde | (v & 1 << WDIE);
	} else {
		avr->data[a] = (old & wdp) | wde | (v & 1 << WDIE);
	}
	if (v & 1 << WDIF)
		m->watchdog.flag = false;
	if (!was_running)
		m->watchdog.fed = edge;
	schedule(m, edge);
	request(m, edge);
}

/* WDR reaches the models by way of simavr's instruction decoder. */
static int feed(avr_io_t *io, uint32_t ctl, void *param)
{
	(void)io;
	(void)param;
	if (ctl != AVR_IOCTL_WATCHDOG_RESET)
		return -1;
	owner->watchdog.fed = owner->avr->cycle + 1;
	schedule(owner, owner->watchdog.fed);
	return 0;
}

void watchdog_init(struct mcu *m)
{
	static avr_io_t io = { .kind = "watchdog", .ioctl = feed };

	owner = m;
	event_handle(m, EV_WATCHDOG, bite_event);
	irq_handle(m, WDT_vect_num, acknowledge);
	avr_register_io(m->avr, &io);
	hook(m, WDTCSR, read_wdtcsr, write_wdtcsr);
}
