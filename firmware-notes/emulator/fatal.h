/* The end of the harness. */
#ifndef FATAL_H
#define FATAL_H

struct mcu;

/* Ends the harness with a message to the host. */
_Noreturn void fatal(struct mcu *m, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

#endif
