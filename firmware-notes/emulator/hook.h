/* The registers' side of the instruction now executing. */
#ifndef HOOK_H
#define HOOK_H

struct mcu;

/* Has a register read and written by the given functions; without one it is memory. */
void hook(struct mcu *m, uint16_t address, avr_io_read_t read, avr_io_write_t write);

/* The cycle in which the instruction now executing reads or writes a register. */
cycle_t access_read(struct mcu *m);
cycle_t access_write(struct mcu *m);
/* The bits that a write to a flag register really strikes (SBI and CBI strike one or none). */
uint8_t access_struck(struct mcu *m, uint8_t value);
/* The instruction now executing. */
uint16_t access_opcode(const struct mcu *m);

#endif
