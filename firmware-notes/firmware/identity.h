/* What the board says about itself. */
#ifndef IDENTITY_H
#define IDENTITY_H

#include "wire.h"

/* Makes the nonce of this start. */
void identity_start(void);
void identity_fill(struct wire_identity *m);

#endif
