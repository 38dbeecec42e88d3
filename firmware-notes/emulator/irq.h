/* Interrupt requests: which lines are raised, who is served, and what it costs. */
#ifndef IRQ_H
#define IRQ_H

struct mcu;

#define IRQ_DEPTH 16

struct irq_count {
	uint64_t entries;
	uint64_t cycles;      /* from the start of entry to the end of RETI, nested ones included */
	uint32_t longest;     /* the most of these in one go */
	uint32_t latest;      /* longest wait from the request to the start of entry */
};

/* What the hardware does when a vector is entered: it clears the flag. */
typedef void (*irq_handler)(struct mcu *m, int vector, cycle_t when);

struct irq {
	irq_handler acknowledge[VECTOR_COUNT]; /* NULL: the flag goes by itself */
	uint32_t lines; /* bit n: vector n asks and is enabled */
	cycle_t since[VECTOR_COUNT];
	int depth;
	struct {
		uint8_t vector;
		cycle_t entry;
	} stack[IRQ_DEPTH];
	uint64_t cycles; /* spent at any depth above zero */
	struct irq_count count[VECTOR_COUNT];
};

void irq_reset(struct mcu *m);
/* Who is told when a vector is entered. */
void irq_handle(struct mcu *m, int vector, irq_handler acknowledge);
void irq_line(struct mcu *m, int vector, bool on, cycle_t when);
/* Enters the raised vector of highest priority; four cycles. */
void irq_enter(struct mcu *m);
/* RETI has been executed. */
void irq_leave(struct mcu *m);

#endif
