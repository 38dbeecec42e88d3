#include "pickup.h"

#include <avr/cpufunc.h>
#include <avr/interrupt.h>

#include "board.h"
#include "clock.h"
#include "compare.h"
#include "serial.h"

/* An armed edge this near is let happen: moving it could miss it. It is more
 * than interrupts are ever held up. */
#define NEAR_TICKS 1600

/* An edge older than this, a second, is forgotten long before its distance
 * wraps. */
#define FORGET_TICKS 0x1000000UL

enum state {
	OFF,  /* nothing is armed */
	GAP,  /* armed for a leading edge */
	PULSE /* armed for a trailing edge */
};

enum kind { REGULAR, STRAY, DROPPED };

static uint8_t state;
static uint8_t kind;   /* of the pulse that is armed or under way */
static uint8_t replan; /* the next match is there to look at the plan again */
static uint32_t at;    /* the edge that comes next */
static struct compare_way way; /* to there */

/* The regular edges to come. Times are in 1/256 tick where the name says part. */
struct train {
	uint32_t edge;        /* the next leading edge */
	uint8_t edge_part;    /* so much later */
	uint32_t period_part; /* from there to the one after */
	int32_t change_part;  /* so much longer each is than the one before */
	uint16_t width;       /* of the pulses, cut to the period */
};

/* The one that is played, and the one that the next Drive fills in. */
static struct train trains[2] = { { .period_part = WIRE_MAX_PERIOD_TICKS << 8 } };
static struct train *slot = &trains[0];
static uint32_t last;  /* the last regular leading edge, sent or dropped */
static uint32_t ended; /* the last trailing edge */
static uint8_t known;  /* last and ended mean something */

static uint16_t width = WIRE_MIN_WIDTH_TICKS;
static uint8_t low;                      /* pulses are low on a high line */

static uint16_t drop;          /* pulses still to leave out */
static uint16_t stray_ordered; /* a stray pulse is wanted so many us after the next slot; 0 is none */
static uint8_t stray_set;
static uint32_t stray; /* its leading edge */

static uint8_t ordered_play;     /* the Drive plays */
static volatile uint8_t pending; /* its train is whole and not yet taken */

uint8_t pickup_sent;
uint32_t pickup_edges[PICKUP_EDGES];
volatile uint8_t pickup_playing;

void pickup_start(void)
{
	/* Data sheet, "Compare Match Output Unit": set the OC1A register by a
	 * force strobe before the pin becomes an output. */
	compare_level(COMPARE_A, low);
	compare_force(COMPARE_A);
	DDRB |= _BV(PIN_PICKUP);
}

static void forget_faults(void)
{
	drop = 0;
	stray_ordered = 0;
	stray_set = 0;
}

static void rest(void)
{
	state = OFF;
	TIMSK1 &= (uint8_t)~_BV(OCIE1A);
	compare_level(COMPARE_A, low);
}

/* Whether a is less than ticks after b, or before it. Unlike the sign of a
 * difference this holds for moments as far ahead as the clock can tell. */
static inline uint8_t within(uint32_t a, uint32_t b, uint32_t ticks)
{
	return a - b + FORGET_TICKS < ticks + FORGET_TICKS;
}

static struct train *other(void)
{
	return slot == &trains[0] ? &trains[1] : &trains[0];
}

/* A pulse is cut to the period. */
static inline void fit_width(struct train *t)
{
	uint32_t room = (t->period_part >> 8) - MIN_GAP_TICKS;

	t->width = room < width ? (uint16_t)room : width;
}

/* The spacing itself changes by the same each time, which is what the passes of a
 * shaft that speeds up evenly do. */
static inline void change_period(struct train *t)
{
	uint32_t longer = t->period_part + (uint32_t)t->change_part;

	if (longer < WIRE_MIN_PERIOD_TICKS << 8 || longer > WIRE_MAX_PERIOD_TICKS << 8)
		return;
	t->period_part = longer;
	if (t->change_part < 0)
		fit_width(t);
}

/* On to the next edge. */
static inline void next_edge(struct train *t)
{
	uint16_t part = (uint16_t)(t->edge_part + (uint8_t)t->period_part);

	t->edge += (t->period_part >> 8) + (part >> 8);
	t->edge_part = (uint8_t)part;
	if (t->change_part)
		change_period(t);
}

/* Takes the other train: the first of its edges that is not the one sent last. An
 * edge within half a period of the last one is that one. `at` is the last
 * match, that is, about now. */
static RARE void adopt(void)
{
	pending = 0;
	pickup_playing = ordered_play;
	if (!pickup_playing) {
		forget_faults();
		return;
	}
	slot = other();
	if (at - last > FORGET_TICKS)
		known = 0;
	if (known)
		while (within(slot->edge, last, (slot->period_part >> 9) + 1))
			next_edge(slot);
}

/* Whether the stray pulse keeps its gap from the pulse before and from the
 * regular one that follows. */
static RARE uint8_t stray_fits(void)
{
	return !within(stray, ended, MIN_GAP_TICKS) && !within(slot->edge, stray, width + MIN_GAP_TICKS);
}

/* Chooses the next leading edge. */
static inline void plan(void)
{
	if (pending)
		adopt();
	if (!pickup_playing) {
		rest();
		return;
	}
	state = GAP;
	stray_set = stray_set && stray_fits();
	if (stray_set) {
		kind = STRAY;
		at = stray;
		return;
	}
	kind = drop ? DROPPED : REGULAR;
	at = slot->edge;
	if (known && within(slot->edge, ended, MIN_GAP_TICKS)) {
		at = ended + MIN_GAP_TICKS;
		late_edges++;
	}
}

/* The regular edge's moment has passed, whether a pulse was sent or not. */
static inline void pass_slot(void)
{
	last = slot->edge;
	known = 1;
	next_edge(slot);
	if (stray_ordered) {
		stray = last + stray_ordered * TICKS_PER_MICROSECOND;
		stray_ordered = 0;
		stray_set = 1;
	}
}

/* A pulse has begun. */
static inline void begin(uint16_t ticks)
{
	pickup_edges[pickup_sent++ % PICKUP_EDGES] = at;
	state = PULSE;
	at += ticks;
}

/* The armed edge has been made, or passed in silence, at tick `at`, or the
 * plan is to be looked at again: chooses the edge that comes next. */
static inline void advance(void)
{
	if (replan) {
		replan = 0;
	} else if (state == PULSE) {
		ended = at;
	} else if (kind == REGULAR) {
		begin(slot->width);
		pass_slot();
		return;
	} else if (kind == STRAY) {
		begin(width);
		stray_set = 0;
		return;
	} else {
		ended = at; /* a pulse of no width */
		pass_slot();
		drop--;
	}
	plan();
}

/* Arms the compare unit for the next edge, `left` ticks from the last match;
 * gives 0 when that edge was past and has been forced. */
static inline uint8_t arm(int32_t left)
{
	uint8_t pulse = state == GAP && kind != DROPPED;

	if (compare_arm(COMPARE_A, &way, left, pulse ^ low, (state == PULSE) ^ low))
		return 1;
	if (pulse || state == PULSE)
		late_edges++;
	return 0;
}

/* The edge is out, but late. A pulse lasts its width from there; the next one
 * is reckoned from its ideal moment, so lateness never adds up. */
static RARE void catch_up(void)
{
	do {
		uint32_t made = compare_last(COMPARE_A);

		at = made;
		advance();
		if (state == OFF)
			return;
		if (arm((int32_t)(at - made)))
			return;
	} while (1);
}

ISR(TIMER1_COMPA_vect)
{
	int32_t left = way.left;

	serial_drain();
	if (replan)
		at = compare_now(COMPARE_A);
	if (replan || !way.hopping) {
		uint32_t match = at;

		advance();
		left = (int32_t)(at - match);
	}
	if (state != OFF && !arm(left))
		catch_up();
	serial_drain();
}

/* So many edges are gone through one by one, 3 us each; a host that is later
 * than that has them go on at one spacing. */
#define LATE_EDGES_MOST 64

/* Brings a train up to its first edge that is not past. */
static RARE void bring_up(struct train *t, uint32_t now)
{
	uint32_t every;

	for (uint8_t n = 0; n < LATE_EDGES_MOST; n++) {
		if (!clock_before(t->edge, now))
			return;
		next_edge(t);
	}
	t->change_part = 0; /* and one width */
	every = t->period_part >> 8;
	if (clock_before(t->edge, now))
		t->edge += ((now - t->edge) / every + 1) * every;
}

static inline uint32_t bounded(uint32_t period_part)
{
	if (period_part < WIRE_MIN_PERIOD_TICKS << 8)
		return WIRE_MIN_PERIOD_TICKS << 8;
	return period_part > WIRE_MAX_PERIOD_TICKS << 8 ? WIRE_MAX_PERIOD_TICKS << 8 : period_part;
}

void pickup_prepare(const struct wire_drive *m, uint32_t now)
{
	struct train *t;

	pending = 0;
	_MemoryBarrier();
	t = other();
	t->edge = m->edge_ticks;
	t->edge_part = 0;
	t->period_part = bounded(m->period_ticks << 8 | m->period_fraction);
	t->change_part = (int32_t)(m->change_fraction << 8) >> 8;
	fit_width(t);
	bring_up(t, now);
	ordered_play = m->flags & WIRE_DRIVE_PLAY;
}

/* Whether an edge is too near to be moved, or already made. */
static uint8_t edge_near(void)
{
	return !way.hopping && (int32_t)(at - clock_read()) < NEAR_TICKS;
}

void pickup_take(void)
{
	pending = 1;
	if (CURE(7) && (state == PULSE || (state == GAP && !replan && edge_near())))
		return; /* the interrupt takes it after that edge */
	replan = 1;
	compare_soon(COMPARE_A, low);
	TIMSK1 |= _BV(OCIE1A);
}

void pickup_drop(uint16_t pulses)
{
	drop = pulses > UINT16_MAX - drop ? UINT16_MAX : drop + pulses;
}

void pickup_stray(uint16_t microseconds)
{
	stray_ordered = microseconds;
}

static uint8_t line_active(void)
{
	return ((PINB & _BV(PIN_PICKUP)) != 0) != low;
}

/* Whether the armed leading edge has been made while it was being taken back.
 * Asks the pin, because a match after the change of level raises the flag but
 * makes no edge. */
static uint8_t begun(void)
{
	compare_level(COMPARE_A, low);
	return !replan && !way.hopping && kind != DROPPED && compare_matched(COMPARE_A) && line_active();
}

void pickup_stop(void)
{
	pending = 0;
	pickup_playing = 0;
	forget_faults();
	if (state == GAP && !begun())
		rest();
}

uint8_t pickup_resting(void)
{
	return *(volatile uint8_t *)&state == OFF;
}

void pickup_configure(uint16_t ticks, uint8_t low_pulses)
{
	width = ticks;
	low = low_pulses;
	known = 0;
	pickup_sent = 0;
	pickup_edges[PICKUP_EDGES - 1] = 0; /* the newest of none */
	compare_level(COMPARE_A, low);
	compare_force(COMPARE_A);
}
