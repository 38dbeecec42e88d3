/* The harness's side of the pipes: see README.md for the layout. */
#ifndef PIPE_H
#define PIPE_H

#include "mcu.h"

#define PIPE_VERSION 3

/* Serves the host until it says quit or hangs up. */
void pipe_serve(struct mcu *m);

#endif
