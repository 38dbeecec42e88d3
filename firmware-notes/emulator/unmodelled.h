/* Registers without a model. */
#ifndef UNMODELLED_H
#define UNMODELLED_H

struct mcu;

void unmodelled_init(struct mcu *m);
/* Whether a register has no model, and what it holds is remembered at most. */
bool unmodelled(const struct mcu *m, uint16_t address);

#endif
