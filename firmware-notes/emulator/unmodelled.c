/*
 * Registers without a model. Writing zero (off) is harmless; anything else
 * would be silently wrong, so it ends the run with the register's address.
 */
#include "mcu.h"

static void refuse(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v)
		fatal(param, "register 0x%02x is not modelled (0x%02x written at 0x%04x)", a, v, avr->pc);
	avr->data[a] = 0;
}

/* SMCR: idle is the one sleep mode in which the timers run on. */
static void write_smcr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v & (1 << SM2 | 1 << SM1 | 1 << SM0))
		fatal(param, "SMCR = 0x%02x: only idle sleep is modelled", v);
	avr->data[a] = v;
}

/* MCUSR: flags are cleared by writing zero and cannot be set. */
static void write_mcusr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	(void)param;
	avr->data[a] &= v;
}

/* MCUCR: the pull-up switch and the vectors' place are not modelled, the rest does nothing here. */
static void write_mcucr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v & (1 << PUD | 1 << IVSEL))
		fatal(param, "MCUCR = 0x%02x: not modelled", v);
	avr->data[a] = v;
}

/* PRR: what is not modelled may be switched off. */
static void write_prr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v & (1 << PRTIM1 | 1 << PRTIM2 | 1 << PRUSART0))
		fatal(param, "PRR = 0x%02x: switching off a modelled unit is not modelled", v);
	avr->data[a] = v;
}

/* CLKPR: the clock may be set to run undivided, as it does here. */
static void write_clkpr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v & ~(1 << CLKPCE))
		fatal(param, "CLKPR = 0x%02x: only the undivided clock is modelled", v);
	avr->data[a] = 0;
}

static void plain(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	(void)param;
	avr->data[a] = v;
}

bool unmodelled(const struct mcu *m, uint16_t address)
{
	avr_io_write_t write = m->avr->io[AVR_DATA_TO_IO(address)].w.c;

	return write == refuse || write == plain || write == write_clkpr || write == write_smcr;
}

void unmodelled_init(struct mcu *m)
{
	static const uint16_t harmless[] = { GPIOR0, GPIOR1, GPIOR2, DIDR0, DIDR1 };

	for (uint16_t a = 0x20; a <= 0xff; a++)
		if (a < R_SPL || a > R_SREG)
			hook(m, a, NULL, refuse);
	for (unsigned i = 0; i < sizeof harmless / sizeof *harmless; i++)
		hook(m, harmless[i], NULL, plain);
	hook(m, SMCR, NULL, write_smcr);
	hook(m, MCUSR, NULL, write_mcusr);
	hook(m, MCUCR, NULL, write_mcucr);
	hook(m, PRR, NULL, write_prr);
	hook(m, CLKPR, NULL, write_clkpr);
}
