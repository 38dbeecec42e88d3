#include "identity.h"

#include <avr/io.h>

#include "board.h"
#include "chip.h"

/* Value of GPIOR2 that an emulator sets. Silicon resets it to 0 (data sheet,
 * "GPIOR2"). */
#define EMULATED 0xE5

static uint32_t nonce __attribute__((section(".noinit"))); /* survives every reset but power-on */

/* FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo) over the memory that nothing has
 * written to yet: after power-on it holds chance. */
static uint32_t memory_hash(void)
{
	extern uint8_t __heap_start;
	uint32_t hash = 2166136261UL;

	for (const uint8_t *p = &__heap_start; p < (const uint8_t *)SP; p++)
		hash = (hash ^ *p) * 16777619UL;
	return hash;
}

/* Resets with the memory kept step through a generator that never stands
 * still; a start with the supply, or of unknown cause (some boot loaders clear
 * the flags), mixes chance into it. */
void identity_start(void)
{
	uint32_t before = nonce;

	nonce = before * 1664525UL + 1013904223UL;
	if ((chip_reset_flags & _BV(PORF)) || !chip_reset_flags)
		nonce ^= memory_hash();
	if (nonce == before)
		nonce++;
}

void identity_fill(struct wire_identity *m)
{
	m->protocol = WIRE_PROTOCOL_VERSION;
	m->board = WIRE_BOARD_MEGA328;
	m->firmware_major = FIRMWARE_MAJOR;
	m->firmware_minor = FIRMWARE_MINOR;
	/* MCUSR has the Reset bits in the same places. */
	m->reset_cause = chip_reset_flags &
		(WIRE_RESET_POWER_ON | WIRE_RESET_EXTERNAL | WIRE_RESET_BROWN_OUT | WIRE_RESET_WATCHDOG);
	m->marks = chip_marker == EMULATED ? WIRE_MARK_EMULATED : 0;
	m->nonce = nonce;
	m->tick_hz = WIRE_TICK_HZ;
	m->min_width_ticks = WIRE_MIN_WIDTH_TICKS;
	m->max_width_ticks = WIRE_MAX_WIDTH_TICKS;
	m->min_period_ticks = WIRE_MIN_PERIOD_TICKS;
	m->max_period_ticks = WIRE_MAX_PERIOD_TICKS;
	m->min_telemetry_ticks = WIRE_MIN_TELEMETRY_TICKS;
	m->min_failsafe_ticks = WIRE_MIN_FAILSAFE_TICKS;
	m->max_failsafe_ticks = WIRE_MAX_FAILSAFE_TICKS;
	m->max_servo_ticks = WIRE_MAX_SERVO_TICKS;
	m->min_servo_period_ticks = WIRE_MIN_SERVO_PERIOD_TICKS;
}
