#include "mcu.h"

void irq_reset(struct mcu *m)
{
	m->irq.lines = 0;
	m->irq.depth = 0;
}

void irq_line(struct mcu *m, int vector, bool on, cycle_t when)
{
	uint32_t bit = UINT32_C(1) << vector;

	if (on && !(m->irq.lines & bit))
		m->irq.since[vector] = when;
	m->irq.lines = on ? m->irq.lines | bit : m->irq.lines & ~bit;
}

void irq_handle(struct mcu *m, int vector, irq_handler acknowledge)
{
	m->irq.acknowledge[vector] = acknowledge;
}

static void push_pc(avr_t *avr)
{
	uint16_t sp = avr->data[R_SPL] | avr->data[R_SPH] << 8;
	uint16_t words = avr->pc >> 1;

	if (sp < 0x101 || sp > avr->ramend)
		return; /* a stack outside the memory: the next RET goes astray, as on silicon */
	avr->data[sp] = words & 0xff;
	avr->data[sp - 1] = words >> 8;
	sp -= 2;
	avr->data[R_SPL] = sp & 0xff;
	avr->data[R_SPH] = sp >> 8;
}

void irq_enter(struct mcu *m)
{
	struct irq *irq = &m->irq;
	avr_t *avr = m->avr;
	int vector = __builtin_ctz(irq->lines);
	struct irq_count *count = &irq->count[vector];
	cycle_t wait = avr->cycle - irq->since[vector];

	if (wait > count->latest)
		count->latest = (uint32_t)wait;
	count->entries++;
	if (irq->depth == IRQ_DEPTH)
		fatal(m, "interrupts nested more than %d deep", IRQ_DEPTH);
	irq->stack[irq->depth].vector = (uint8_t)vector;
	irq->stack[irq->depth].entry = avr->cycle;
	irq->depth++;

	if (irq->acknowledge[vector])
		irq->acknowledge[vector](m, vector, avr->cycle);
	push_pc(avr);
	avr->sreg[S_I] = 0;
	avr->pc = (avr_flashaddr_t)vector * avr->vector_size;
	avr->cycle += 4;
}

void irq_leave(struct mcu *m)
{
	struct irq *irq = &m->irq;

	if (irq->depth == 0)
		return; /* RETI used as a plain return */
	irq->depth--;
	struct irq_count *count = &irq->count[irq->stack[irq->depth].vector];
	cycle_t took = m->avr->cycle - irq->stack[irq->depth].entry;

	count->cycles += took;
	if (took > count->longest)
		count->longest = (uint32_t)took;
	if (irq->depth == 0)
		irq->cycles += took;
}
