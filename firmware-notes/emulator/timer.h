/*
 * A timer/counter in normal mode: prescaled count, two output compare units
 * with their pins, overflow. Shared by Timer1 (16 bits) and Timer2 (8 bits).
 */
#ifndef TIMER_H
#define TIMER_H

struct mcu;

/* What differs from one timer to the next. */
struct timer_unit {
	uint16_t max;
	uint16_t dividers[8]; /* by clock select; 0 = stopped or not modelled */
	uint8_t clock_selects; /* how many of them exist without an external clock */
	uint8_t vector_overflow, vector_match[2], vector_capture; /* 0: none */
	int event_overflow, event_match[2];
	struct {
		char port;
		uint8_t bit;
	} pin[2]; /* of the compare outputs */
};

struct timer {
	const struct timer_unit *unit;
	uint16_t divider;  /* 0 = stopped */
	bool waveform;     /* in a mode that is not modelled */
	cycle_t prescaler_zero; /* the free-running prescaler was zero here */
	cycle_t since;     /* the count stood at `count` in this cycle */
	uint16_t count;
	cycle_t blocked;   /* no match at this edge: TCNT was written just before */
	struct {
		uint16_t compare;
		uint8_t mode; /* COM bits: 0 pin free, 1 toggle, 2 clear, 3 set */
		bool level;   /* the OC register, kept while the pin is free */
	} output[2];
	uint8_t flags, mask; /* TIFRn, TIMSKn */
};

/* Bits common to TIFRn and TIMSKn of every timer. */
enum { TIMER_OVERFLOW = 1, TIMER_MATCH_A = 2, TIMER_MATCH_B = 4, TIMER_CAPTURE = 32 };

void timer_reset(struct mcu *m, struct timer *t, const struct timer_unit *unit);
uint16_t timer_count(const struct timer *t, cycle_t now);

/* The register writes; each takes effect at `edge`, events up to it done. */
void timer_set_count(struct mcu *m, struct timer *t, uint16_t value, cycle_t edge);
void timer_set_compare(struct mcu *m, struct timer *t, int channel, uint16_t value, cycle_t edge);
void timer_set_clock(struct mcu *m, struct timer *t, uint8_t select, cycle_t edge);
/* The mode may be any while nothing happens in it: a boot loader's that is taken back. */
void timer_set_waveform(struct timer *t, bool waveform);
void timer_set_modes(struct mcu *m, struct timer *t, uint8_t tccra, cycle_t edge);
void timer_force(struct mcu *m, struct timer *t, int channel, cycle_t edge);
void timer_reset_prescaler(struct mcu *m, struct timer *t, cycle_t edge);

/* What the timer's events do. */
void timer_match(struct mcu *m, struct timer *t, int channel, cycle_t edge);
void timer_overflow(struct mcu *m, struct timer *t, cycle_t edge);

void timer_raise(struct mcu *m, struct timer *t, uint8_t flag, cycle_t when);
void timer_clear(struct mcu *m, struct timer *t, uint8_t flags, cycle_t when);
void timer_set_mask(struct mcu *m, struct timer *t, uint8_t mask, cycle_t when);
void timer_acknowledge(struct mcu *m, struct timer *t, int vector, cycle_t when);

#endif
