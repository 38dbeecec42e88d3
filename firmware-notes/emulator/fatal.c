#include "fatal.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "mcu.h"
#include "out.h"

void fatal(struct mcu *m, const char *format, ...)
{
	char text[512];
	va_list ap;

	va_start(ap, format);
	vsnprintf(text, sizeof text, format, ap);
	va_end(ap);
	out_put('e', 1);
	out_put(m->avr ? m->avr->cycle : 0, 8);
	out_text(text);
	out_flush();
	exit(1);
}
