/*
 * A board with a boot loader behind a pseudo-terminal, for the tests of
 * flashing: simavr's ATmega328P with its own peripherals, in step with wall
 * time. bootboard BOOTLOADER.hex prints the path of the terminal.
 *
 * The wire is modelled bit by bit at the speed that the host has set on the
 * terminal, so that a wrong speed garbles bytes as it does on a real one.
 * Opening the terminal restarts the board, as the DTR line of a real port does.
 *
 * It is linked with simavr, which is under the GNU General Public License,
 * version 3 or later: it is a process of its own, shipped as source only.
 */
#define _GNU_SOURCE
#include <asm/termbits.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include <avr_ioport.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_hex.h>

enum { HZ = 16000000, MCUSR = 0x54, EXTRF = 1 << 1, GPIOR2 = 0x4b, MARKER = 0xE5, SLICE = HZ / 1000 };

static avr_t *avr;
static avr_irq_t *rx;
static int master;

/* Bytes on their way to the board, with the cycle at which each has arrived. */
static struct { avr_cycle_count_t at; uint16_t value; } queue[1 << 16];
static unsigned first, last;

static void fail(const char *what)
{
	perror(what);
	exit(1);
}

/* Cycles a bit takes at the host's end. */
static double host_bit(void)
{
	struct termios2 t;

	if (ioctl(master, TCGETS2, &t) < 0 || t.c_ospeed == 0)
		return HZ / 115200.0;
	return HZ / (double)t.c_ospeed;
}

/* Cycles a bit takes at the board's end. */
static double board_bit(void)
{
	const uint8_t *d = avr->data; /* UCSR0A 0xc0 (U2X0 is bit 1), UBRR0 0xc4 */

	return ((d[0xc5] & 15) * 256 + d[0xc4] + 1) * (d[0xc0] & 2 ? 8.0 : 16.0);
}

/* The level of a wire that carries n bytes from time 0 on, one bit in `bit`. */
static bool level(const uint8_t *p, int n, double bit, double t)
{
	int at = t / bit, byte = at / 10, place = at % 10;

	if (byte >= n || place == 9)
		return true;
	return place && p[byte] >> (place - 1) & 1;
}

typedef void taker(double end, uint8_t value, bool framing_error);

/* What a receiver of another speed makes of n bytes. */
static void receive(const uint8_t *p, int n, double sent, double own, taker *take)
{
	double end = n * 10 * sent, step = sent / 16;

	for (double t = 0; t < end; t += step) {
		uint8_t value = 0;

		if (level(p, n, sent, t))
			continue;
		for (int i = 0; i < 8; i++)
			value |= level(p, n, sent, t + own * (i + 1.5)) << i;
		t += own * 9.5;
		take(t, value, !level(p, n, sent, t));
		while (t < end && !level(p, n, sent, t))
			t += step;
	}
}

static avr_cycle_count_t start; /* of the chunk being put on the wire */

static void to_board(double end, uint8_t value, bool framing_error)
{
	queue[last].at = start + end;
	queue[last].value = value | (framing_error ? UART_INPUT_FE : 0);
	last = (last + 1) % (sizeof queue / sizeof *queue);
}

static void to_host(double end, uint8_t value, bool framing_error)
{
	(void)end;
	(void)framing_error;
	if (write(master, &value, 1) < 0 && errno != EAGAIN && errno != EIO)
		fail("write");
}

static void on_output(struct avr_irq_t *irq, uint32_t value, void *param)
{
	uint8_t byte = value;

	(void)irq;
	(void)param;
	receive(&byte, 1, board_bit(), host_bit(), to_host);
}

static void take_from_host(void)
{
	static avr_cycle_count_t wire_free;
	uint8_t buf[64];
	int n = read(master, buf, sizeof buf);

	if (n <= 0)
		return;
	start = wire_free > avr->cycle ? wire_free : avr->cycle;
	receive(buf, n, host_bit(), board_bit(), to_board);
	wire_free = start + n * 10 * host_bit();
}

static void restart(void)
{
	avr_reset(avr);
	avr->data[MCUSR] = EXTRF;
	avr->data[GPIOR2] = MARKER;
	first = last;
}

/* Restarts the board when a host opens the terminal. */
static void watch_port(void)
{
	static bool open;
	struct pollfd p = { .fd = master };

	poll(&p, 1, 0);
	if (!open && !(p.revents & POLLHUP))
		restart();
	open = !(p.revents & POLLHUP);
}

static void run_until(avr_cycle_count_t end)
{
	while (avr->cycle < end) {
		if (first != last && queue[first].at <= avr->cycle) {
			avr_raise_irq(rx, queue[first].value);
			first = (first + 1) % (sizeof queue / sizeof *queue);
		}
		avr->run_cycle_count = 1;
		if (avr_run(avr) == cpu_Crashed) {
			fprintf(stderr, "the board crashed at 0x%04x\n", avr->pc);
			exit(1);
		}
		avr->data[GPIOR2] = MARKER; /* simavr's own resets clear it */
	}
}

static void load(const char *path)
{
	uint32_t size, base;
	uint8_t *code = read_ihex_file(path, &size, &base);

	if (!code)
		exit(1);
	memset(avr->flash, 0xff, avr->flashend + 1);
	memcpy(avr->flash + base, code, size);
	avr->reset_pc = base;
	free(code);
}

static void no_sleep(avr_t *a, avr_cycle_count_t n)
{
	(void)n;
	a->cycle++;
}

static void open_terminal(void)
{
	const char *path;

	master = posix_openpt(O_RDWR | O_NOCTTY);
	if (master < 0 || grantpt(master) || unlockpt(master) || !(path = ptsname(master)))
		fail("pseudo-terminal");
	struct termios2 raw = { .c_cflag = CS8 | CREAD | CLOCAL | B115200 };
	int near = open(path, O_RDWR | O_NOCTTY);
	if (near < 0 || ioctl(near, TCSETS2, &raw) < 0 || close(near) || fcntl(master, F_SETFL, O_NONBLOCK) < 0)
		fail("pseudo-terminal");
	printf("%s\n", path);
	fflush(stdout);
}

/* Holds the board to wall time. One that has fallen far behind, because the
 * machine was busy, goes on from there. */
static void wait_for_slice(void)
{
	static long long due;
	struct timespec t;
	long long now;

	clock_gettime(CLOCK_MONOTONIC, &t);
	now = t.tv_sec * 1000000000LL + t.tv_nsec;
	due += 1000000;
	if (now - due > 100000000)
		due = now;
	t.tv_sec = due / 1000000000;
	t.tv_nsec = due % 1000000000;
	clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &t, NULL);
}

int main(int argc, char **argv)
{
	uint32_t flags = 0;

	avr = avr_make_mcu_by_name("atmega328p");
	if (argc != 2 || !avr)
		return 2;
	avr_init(avr);
	avr->frequency = HZ;
	avr->sleep = no_sleep;
	load(argv[1]);
	avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
	rx = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
	avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_output, NULL);
	open_terminal();
	restart();
	for (;;) {
		struct pollfd end = { .fd = 0, .events = POLLIN };

		if (poll(&end, 1, 0) && end.revents)
			return 0; /* the test is over */
		watch_port();
		take_from_host();
		run_until(avr->cycle + SLICE);
		wait_for_slice();
	}
}
