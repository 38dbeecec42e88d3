#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "mcu.h"

#include <sim_core.h>
#include <sim_elf.h>
#include <sim_hex.h>

enum {
	MARKER = 0xE5,    /* in GPIOR2 at every reset; silicon has 0 there */
	WAKE_CYCLES = 4,  /* "the MCU is then halted for four cycles" */
	RETI = 0x9518,
};

/* Start-up time after a reset other than power-on: 14 cycles + 65 ms, as hobby boards are fused. */
#define RESET_CYCLES (14 + 65 * 16000)

/* ---- start and reset ---- */

static void log_errors(struct avr_t *avr, const int level, const char *format, va_list ap)
{
	(void)avr;
	if (level == LOG_ERROR)
		vfprintf(stderr, format, ap);
}

static bool ends_with(const char *s, const char *end)
{
	size_t n = strlen(s), k = strlen(end);

	return n >= k && strcmp(s + n - k, end) == 0;
}

static void load(struct mcu *m, const char *path)
{
	if (ends_with(path, ".elf")) {
		elf_firmware_t elf = { 0 };

		if (elf_read_firmware(path, &elf) || !elf.flashsize || elf.flashbase + elf.flashsize > m->avr->flashend + 1)
			fatal(m, "cannot read %s as an ELF for the ATmega328P", path);
		avr_loadcode(m->avr, elf.flash, elf.flashsize, elf.flashbase);
		return;
	}
	uint32_t size = 0, base = 0;
	uint8_t *code = read_ihex_file(path, &size, &base);

	if (!code || !size || base + size > m->avr->flashend + 1)
		fatal(m, "cannot read %s as an Intel hex for the ATmega328P", path);
	avr_loadcode(m->avr, code, size, base);
	free(code);
}

/* simavr's own peripherals go: they would act beside the models. */
static void take_over(struct mcu *m)
{
	memset(m->avr->io, 0, sizeof m->avr->io);
	m->avr->io_shared_io_count = 0;
	m->avr->io_port = NULL;
	m->avr->reset = NULL;
	unmodelled_init(m);
	ports_init(m);
	timer1_init(m);
	timer2_init(m);
	usart_init(m);
	comparator_init(m);
	adc_init(m);
	watchdog_init(m);
	wires_init(m);
	inputs_init(m);
}

static void start(struct mcu *m, uint8_t flags)
{
	avr_reset(m->avr);
	m->avr->data[MCUSR] = flags;
	m->avr->data[GPIOR2] = MARKER;
	m->reset_wanted = m->sleeping = m->interrupt_delay = false;
	irq_reset(m);
	timer1_reset(m);
	timer2_reset(m);
	ports_reset(m);
	usart_reset(m);
	comparator_reset(m);
	adc_reset(m);
	watchdog_reset(m, flags & 1 << WDRF);
}

void mcu_init(struct mcu *m, const char *firmware)
{
	avr_global_logger_set(log_errors);
	m->avr = avr_make_mcu_by_name("atmega328p");
	if (!m->avr)
		fatal(m, "this simavr has no ATmega328P");
	avr_init(m->avr);
	m->avr->frequency = 16000000;
	take_over(m);
	load(m, firmware);
	/* A memory that has just got its power holds anything but zeros. */
	memset(m->avr->data + 0x100, 0xA5, m->avr->ramend + 1u - 0x100);
	events_init(m);
	m->delimiter = NEVER;
	m->lowest_sp = m->avr->ramend;
	start(m, 1 << PORF);
}

void mcu_reset(struct mcu *m, uint8_t cause)
{
	uint8_t flags = m->avr->data[MCUSR] | cause;

	tell_reset(cause, m->avr->cycle);
	m->resets++;
	m->held_until = m->avr->cycle + RESET_CYCLES;
	start(m, flags);
}

/* ---- running ---- */

static void watch_stack(struct mcu *m)
{
	uint16_t sp = m->avr->data[R_SPL] | m->avr->data[R_SPH] << 8;

	if (sp < m->lowest_sp)
		m->lowest_sp = sp;
}

static void execute(struct mcu *m)
{
	avr_t *avr = m->avr;
	uint16_t op = access_opcode(m);
	bool enabled = avr->sreg[S_I];

	avr->run_cycle_count = 0; /* one instruction, never a burst */
	avr->pc = avr_run_one(avr);
	m->interrupt_delay = avr->sreg[S_I] && (!enabled || op == RETI);
	if (op == RETI)
		irq_leave(m);
	if ((op & 0xf000) == 0x9000 || (op & 0xf000) == 0xd000)
		watch_stack(m); /* PUSH and the calls are among these */
	if (avr->state == cpu_Running)
		return;
	if (avr->state != cpu_Sleeping)
		fatal(m, "the firmware crashed at 0x%04x", avr->pc);
	avr->state = cpu_Running;
	m->sleeping = avr->data[SMCR] & 1 << SE;
}

/* One instruction, one interrupt entry, or a rest up to the next event or limit. */
static void step(struct mcu *m, cycle_t limit)
{
	avr_t *avr = m->avr;
	cycle_t rest = m->events.next < limit ? m->events.next : limit;

	if (m->reset_wanted) {
		mcu_reset(m, 1 << WDRF);
	} else if (avr->cycle < m->held_until) {
		avr->cycle = rest < m->held_until ? rest : m->held_until;
	} else if (m->irq.lines && avr->sreg[S_I] && !m->interrupt_delay) {
		avr->cycle += m->sleeping ? WAKE_CYCLES : 0;
		m->sleeping = false;
		irq_enter(m);
		watch_stack(m);
	} else if (m->sleeping) {
		m->sleep_cycles += rest - avr->cycle;
		avr->cycle = rest;
		m->interrupt_delay = false;
	} else {
		execute(m);
	}
}

cycle_t mcu_run(struct mcu *m, cycle_t until, bool stop_at_delimiter)
{
	for (;;) {
		cycle_t reached = m->avr->cycle < until ? m->avr->cycle : until;

		while (m->events.next <= reached && !(stop_at_delimiter && m->delimiter != NEVER))
			event_happens(m);
		if (m->delimiter != NEVER && m->delimiter <= until) {
			cycle_t at = m->delimiter;

			m->delimiter = NEVER;
			if (stop_at_delimiter)
				return m->floor = at;
		}
		if (m->avr->cycle >= until)
			return m->floor = until;
		step(m, until);
	}
}
