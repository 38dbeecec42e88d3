/* The emulated board: harness FIRMWARE.hex, commands in, events out. See README.md. */
#include <signal.h>
#include <stdio.h>

#include "mcu.h"
#include "out.h"
#include "pipe.h"

int main(int argc, char **argv)
{
	static struct mcu m;

	if (argc != 2) {
		fprintf(stderr, "usage: harness FIRMWARE.hex|FIRMWARE.elf\n");
		return 2;
	}
	signal(SIGINT, SIG_IGN); /* Ctrl-C is the host's to act on; then the pipe closes */
	out_open();
	mcu_init(&m, argv[1]);
	pipe_serve(&m);
	return 0;
}
