/* What can happen by itself, and when: one moment for each, and who acts on it. */
#ifndef EVENT_H
#define EVENT_H

struct mcu;

/* Two events at one edge run in this order. */
enum event {
	EV_INPUT,      /* a scheduled input level changes */
	EV_COMPARATOR, /* the comparator's output has passed its synchroniser */
	EV_CAPTURE,    /* a level reaches Timer1's edge detector */
	EV_T1_A,
	EV_T1_B,
	EV_T1_OVERFLOW,
	EV_T2_A,
	EV_T2_B,
	EV_T2_OVERFLOW,
	EV_RX, /* the receiver decides one bit */
	EV_TX, /* a frame's stop bit ends */
	EV_ADC,
	EV_WATCHDOG,
	EV_COUNT
};

typedef void (*event_handler)(struct mcu *m, cycle_t edge);

struct events {
	event_handler handler[EV_COUNT];
	cycle_t when[EV_COUNT];
	cycle_t next; /* the earliest of when[] */
	enum event first;
};

/* No event is due. */
void events_init(struct mcu *m);
/* Who acts on an event. */
void event_handle(struct mcu *m, enum event e, event_handler handler);
void event_set(struct mcu *m, enum event e, cycle_t when);
/* Lets the next event happen. */
void event_happens(struct mcu *m);
/* Lets every edge up to and including t happen. */
void events_until(struct mcu *m, cycle_t t);

#endif
