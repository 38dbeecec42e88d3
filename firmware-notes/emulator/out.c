#include "out.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static FILE *to_host;

void out_open(void)
{
	/* simavr prints to standard output: keep that away from the host. */
	to_host = fdopen(dup(STDOUT_FILENO), "wb");
	if (!to_host || dup2(STDERR_FILENO, STDOUT_FILENO) < 0) {
		perror("harness: standard output");
		exit(1);
	}
	setvbuf(to_host, NULL, _IOFBF, 1 << 16);
}

void out_put(uint64_t value, int bytes)
{
	for (int i = 0; i < bytes; i++)
		putc((int)(value >> 8 * i & 0xff), to_host);
}

void out_bytes(const void *bytes, size_t n)
{
	fwrite(bytes, 1, n, to_host);
}

void out_text(const char *s)
{
	out_put(strlen(s), 2);
	out_bytes(s, strlen(s));
}

void out_flush(void)
{
	fflush(to_host);
}
