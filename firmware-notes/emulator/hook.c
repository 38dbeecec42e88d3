#include "mcu.h"

void hook(struct mcu *m, uint16_t address, avr_io_read_t read, avr_io_write_t write)
{
	unsigned io = AVR_DATA_TO_IO(address);

	m->avr->io[io].r.c = read;
	m->avr->io[io].r.param = m;
	m->avr->io[io].w.c = write;
	m->avr->io[io].w.param = m;
}

uint16_t access_opcode(const struct mcu *m)
{
	const uint8_t *p = m->avr->flash + m->avr->pc;

	return p[0] | p[1] << 8;
}

static bool is_in_or_out(uint16_t op)
{
	return (op & 0xf000) == 0xb000;
}

/* IN, SBIC, SBIS, SBI and CBI read in their first cycle, loads in their second. */
cycle_t access_read(struct mcu *m)
{
	uint16_t op = access_opcode(m);

	return m->avr->cycle + !(is_in_or_out(op) || (op & 0xfc00) == 0x9800);
}

/* OUT writes in its only cycle, all others in their second. */
cycle_t access_write(struct mcu *m)
{
	return m->avr->cycle + !is_in_or_out(access_opcode(m));
}

/* "The CBI and SBI instructions will only operate on the specified bit", unlike
 * simavr's, which read, change and write the register whole. */
uint8_t access_struck(struct mcu *m, uint8_t value)
{
	uint16_t op = access_opcode(m);

	if ((op & 0xff00) == 0x9a00)
		return 1 << (op & 7);
	return (op & 0xff00) == 0x9800 ? 0 : value;
}
