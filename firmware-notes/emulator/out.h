/* The pipe to the host. */
#ifndef OUT_H
#define OUT_H

#include <stddef.h>
#include <stdint.h>

void out_open(void);
/* An integer, little endian. */
void out_put(uint64_t value, int bytes);
void out_bytes(const void *bytes, size_t n);
/* A text behind its length. */
void out_text(const char *s);
void out_flush(void);

#endif
