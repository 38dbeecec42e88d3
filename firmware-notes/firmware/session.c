#include "session.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

#include "board.h"
#include "capture.h"
#include "clock.h"
#include "compare.h"
#include "failsafe.h"
#include "frame.h"
#include "identity.h"
#include "levels.h"
#include "pickup.h"
#include "select.h"
#include "serial.h"
#include "stick.h"

/* So many received bytes are taken in one round at most, so that no host can
 * keep the telemetry waiting. */
#define BYTES_A_ROUND 64

/* So many bytes that make no frame, outside a session, are at another speed:
 * more than the longest frame has. A zero at the fast speed, heard at the slow
 * one, is half of a byte that is none; a zero at the slow speed, heard at the
 * fast one, has no stop bit. */
#define STRANGE_MOST (WIRE_MAX_PAYLOAD + 8)

static uint8_t received[WIRE_MAX_PAYLOAD + FRAME_CHECK_SIZE];
static struct frame_decoder decoder = { .data = received, .room = sizeof received };
static uint8_t bad_frames;
static uint8_t strange; /* bytes since the last good frame, but for zeros */

static uint8_t message[WIRE_MAX_PAYLOAD + FRAME_CHECK_SIZE]; /* to be sent */

static struct wire_configure settings;
static uint8_t configuring; /* settings wait for a pickup pulse to end */
static uint8_t live;        /* telemetry runs and Drives count */
static uint32_t due;        /* when the next telemetry frame is */
static uint8_t flags;       /* TelemetrySafe and TelemetryDriven */
static uint8_t sequence;
static uint8_t levels_due; /* Levels follow when the telemetry frame is out */
static uint8_t applied_drive;
static uint32_t applied_ticks;

/* Sends the n bytes of message. One that has no room is dropped: the host
 * counts it as lost, and the board never waits. */
static void send(uint8_t n)
{
	if (serial_room((uint8_t)(n + 4)))
		frame_send(message, n);
}

static RARE void send_identity(void)
{
	struct wire_identity m;

	identity_fill(&m);
	send(wire_identity_pack(message, &m));
}

static void send_configured(uint8_t number, uint8_t refused)
{
	struct wire_configured m = { .sequence = number, .refused = refused };

	send(wire_configured_pack(message, &m));
}

static uint8_t edges_told; /* the number of pickup pulses told of */

/* Lists the pickup edges since the last frame, but for the newest. */
static inline void list_edges(struct wire_edges *e)
{
	uint8_t fresh = (uint8_t)(pickup_sent - edges_told);

	edges_told = pickup_sent;
	e->edges_len = 0;
	if (fresh > PICKUP_EDGES)
		fresh = PICKUP_EDGES;
	for (; fresh > 1; fresh--)
		e->edges[e->edges_len++].ticks = pickup_edges[(uint8_t)(pickup_sent - fresh) % PICKUP_EDGES];
}

/* Everything a frame tells, of one moment. */
static void snapshot(struct wire_telemetry *m, struct wire_edges *e)
{
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		m->ticks = clock_read();
		capture_give_up(m->ticks);
		m->pickup_count = pickup_sent;
		m->pickup_ticks = pickup_edges[(uint8_t)(pickup_sent - 1) % PICKUP_EDGES];
		list_edges(e);
		m->late_edges = late_edges;
		m->lost_captures = capture_lost;
		m->overruns = serial_overruns;
		m->flags = flags;
		if (failsafe_tripped)
			m->flags |= WIRE_TELEMETRY_SAFE | WIRE_TELEMETRY_FAILSAFE;
		if (pickup_playing)
			m->flags |= WIRE_TELEMETRY_PLAYING;
	}
}

static void send_telemetry(void)
{
	struct wire_telemetry m;
	struct wire_edges e = { .sequence = sequence };

	snapshot(&m, &e);
	if (e.edges_len)
		send(wire_edges_pack(message, &e));
	if (capture_level())
		m.flags |= WIRE_TELEMETRY_CAPTURE_HIGH;
	m.sequence = sequence++;
	m.applied_drive = applied_drive;
	m.applied_ticks = applied_ticks;
	m.bad_frames = bad_frames;
	m.pulses_len = capture_take(m.pulses, CURE(10) ? WIRE_MAX_PULSES : 1);
	send(wire_telemetry_pack(message, &m));
}

static RARE void send_levels(void)
{
	struct wire_levels m;

	levels_due = 0;
	if (levels_take(&m))
		send(wire_levels_pack(message, &m));
}

/* No pickup pulse, the stick at its safe width, until a Drive or for good. */
static void make_safe(void)
{
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		pickup_stop();
		stick_make_safe();
		failsafe_rest();
	}
	flags |= WIRE_TELEMETRY_SAFE;
}

static uint8_t refuse(const struct wire_configure *m)
{
	if (m->telemetry_ticks < WIRE_MIN_TELEMETRY_TICKS)
		return WIRE_REFUSED_TELEMETRY;
	if (m->failsafe_ticks < WIRE_MIN_FAILSAFE_TICKS || m->failsafe_ticks > WIRE_MAX_FAILSAFE_TICKS)
		return WIRE_REFUSED_FAILSAFE;
	if (m->pickup_width_ticks < WIRE_MIN_WIDTH_TICKS || m->pickup_width_ticks > WIRE_MAX_WIDTH_TICKS)
		return WIRE_REFUSED_WIDTH;
	if (m->servo_period_ticks < WIRE_MIN_SERVO_PERIOD_TICKS || m->servo_period_ticks > WIRE_MAX_SERVO_PERIOD_TICKS ||
	    m->safe_stick_ticks > WIRE_MAX_SERVO_TICKS)
		return WIRE_REFUSED_SERVO;
	return 0;
}

/* Pulses shorter than the floor could end before their end is set up. */
static uint16_t servo_width(uint16_t ticks)
{
	if (!ticks)
		return 0;
	if (CURE(5) && ticks < WIRE_MIN_WIDTH_TICKS)
		return WIRE_MIN_WIDTH_TICKS;
	return ticks > WIRE_MAX_SERVO_TICKS ? WIRE_MAX_SERVO_TICKS : ticks;
}

static RARE void on_configure(const struct wire_configure *m)
{
	uint8_t reason = refuse(m);

	if (reason) {
		send_configured(m->sequence, reason);
		return;
	}
	settings = *m;
	live = 0;
	configuring = 1;
	make_safe();
}

/* The second half of Configure, once the pickup line rests. */
static RARE void finish_configuring(void)
{
	configuring = 0;
	flags = WIRE_TELEMETRY_SAFE;
	sequence = 0;
	applied_drive = 0;
	applied_ticks = 0;
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		failsafe_forget();
		edges_told = 0;
		pickup_configure(settings.pickup_width_ticks, (settings.options & WIRE_OPTION_PICKUP_LOW) != 0);
		stick_configure(settings.servo_period_ticks, servo_width(settings.safe_stick_ticks));
		select_set(0);
		capture_configure((settings.options & WIRE_OPTION_CAPTURE_PROBE) != 0,
				  (settings.options & WIRE_OPTION_CAPTURE_LOW) != 0);
		due = clock_read() + settings.telemetry_ticks;
	}
	levels_configure((settings.options & WIRE_OPTION_CAPTURE_PROBE) != 0);
	levels_due = 0;
	live = 1;
	send_configured(settings.sequence, 0);
}

static inline void order(const struct wire_fault *fault)
{
	if (fault->kind == WIRE_FAULT_DROP)
		pickup_drop(fault->value);
	else if (fault->kind == WIRE_FAULT_STRAY)
		pickup_stray(fault->value);
}

/* Tests of the watchdog have a build that hangs when it is told to: with 1 the
 * main loop alone, with 2 the interrupts too, with 3 the clock's alone. */
#ifndef TEST_HANG
#define TEST_HANG 0
#endif
static inline void test_hang(const struct wire_drive *m)
{
	if (!TEST_HANG || !(m->flags & 0x80))
		return;
	if (TEST_HANG == 3) {
		TIMSK1 &= (uint8_t)~_BV(TOIE1);
		return;
	}
	if (TEST_HANG == 2)
		cli();
	for (;;)
		;
}

static void on_drive(const struct wire_drive *m)
{
	uint16_t stick = servo_width(m->stick_ticks);
	uint16_t select = servo_width(m->select_ticks);
	uint32_t now = clock_now();
	uint16_t deadline = failsafe_deadline(now, settings.failsafe_ticks);

	if (!live)
		return;
	pickup_prepare(m, now);
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		if (!failsafe_tripped) {
			failsafe_feed(deadline);
			for (uint8_t i = 0; i < m->faults_len; i++)
				order(&m->faults[i]);
			pickup_take();
			stick_set(stick);
			select_set(select);
			applied_ticks = clock_read();
			applied_drive = m->sequence;
			flags = WIRE_TELEMETRY_DRIVEN;
		}
	}
	test_hang(m);
}

static RARE void on_stop(void)
{
	configuring = 0;
	live = 0;
	make_safe();
	send_telemetry();
}

/* Acts on a message of n bytes; gives whether it was one. Not inlined, so that
 * the main loop stays light. */
static RARE uint8_t dispatch(const uint8_t *b, uint8_t n)
{
	union {
		struct wire_identify identify;
		struct wire_configure configure;
		struct wire_drive drive;
	} m;

	if (wire_drive_unpack(&m.drive, b, n))
		on_drive(&m.drive);
	else if (wire_identify_unpack(&m.identify, b, n))
		send_identity();
	else if (wire_configure_unpack(&m.configure, b, n))
		on_configure(&m.configure);
	else if (n == WIRE_STOP_SIZE && b[0] == WIRE_STOP_ID)
		on_stop();
	else
		return 0;
	return 1;
}

static void forget_strange(void)
{
	strange = 0;
	serial_misframed = 0;
}

static void take_byte(uint8_t byte)
{
	enum frame_result result = frame_next(&decoder, byte);

	if (result == FRAME_GOOD && !dispatch(received, (uint8_t)(decoder.length - FRAME_CHECK_SIZE)))
		result = FRAME_BAD;
	if (result == FRAME_BAD)
		bad_frames++;
	if (result == FRAME_GOOD)
		forget_strange();
	else if (byte)
		strange++;
}

/* Listens at the other speed when what comes makes no frames. In a session the
 * speed is known to be right, and what does not is damaged. */
static RARE void listen_for_host(void)
{
	if (!live || failsafe_tripped) {
		serial_change_speed();
		frame_forget(&decoder);
	}
	forget_strange();
}

/* Frames keep to the schedule; moments that could not be kept are left out. */
static RARE void send_due_telemetry(uint32_t now)
{
	send_telemetry();
	levels_due = sequence % WIRE_LEVELS_EVERY == 0;
	do
		due += settings.telemetry_ticks;
	while (!clock_before(now, due));
}

void session_poll(void)
{
	uint32_t now;

	serial_send();
	levels_poll();
	for (uint8_t n = BYTES_A_ROUND; n && serial_waiting(); n--)
		take_byte(serial_get());
	if (strange >= STRANGE_MOST || serial_misframed >= STRANGE_MOST)
		listen_for_host();
	if (configuring && pickup_resting())
		finish_configuring();
	if (!CURE(9))
		failsafe_check();
	now = clock_now();
	capture_slice(now);
	if (live && !clock_before(now, due))
		send_due_telemetry(now);
	else if (live && levels_due && serial_room(UINT8_MAX))
		send_levels();
}
