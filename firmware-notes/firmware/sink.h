/* Where the bytes of a frame go. Whoever is linked with frame.c provides it:
 * the serial port in the firmware, a buffer in the test on the host. */
#ifndef SINK_H
#define SINK_H

#include <stdint.h>

/* Takes one byte that is to be sent. */
void sink_put(uint8_t byte);
/* Called again and again while a frame is being made. */
void sink_wait(void);

#endif
