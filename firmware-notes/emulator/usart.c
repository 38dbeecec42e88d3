#include "mcu.h"
#include "rxd.h"

/* Cycles from one sample of RXD to the next. */
static unsigned sample(const struct mcu *m)
{
	return ((m->avr->data[UBRR0H] & 15) << 8 | m->avr->data[UBRR0L]) + 1;
}

static unsigned samples_per_bit(const struct mcu *m)
{
	return m->avr->data[UCSR0A] & 1 << U2X0 ? 8 : 16;
}

static unsigned bit_cycles(const struct mcu *m)
{
	return sample(m) * samples_per_bit(m);
}

/* The first multiple of step from the baud generator's start that is not before t. */
static cycle_t clocked(const struct mcu *m, unsigned step, cycle_t t)
{
	cycle_t zero = m->usart.clock_zero;

	return zero + (t - zero + step - 1) / step * step;
}

static void request(struct mcu *m, cycle_t when)
{
	uint8_t b = m->avr->data[UCSR0B];

	irq_line(m, USART_RX_vect_num, m->usart.rx.fifo_count && b & 1 << RXCIE0, when);
	irq_line(m, USART_UDRE_vect_num, !m->usart.tx.full && b & 1 << UDRIE0, when);
	irq_line(m, USART_TX_vect_num, m->usart.tx.done && b & 1 << TXCIE0, when);
}

/* ---- receiver ---- */

static bool enabled(const struct mcu *m)
{
	return m->avr->data[UCSR0B] & 1 << RXEN0;
}

/* The third of the three middle samples of a bit, when it is decided by majority. */
static cycle_t decision(const struct mcu *m, int bit)
{
	return m->usart.rx.first_sample + (cycle_t)sample(m) * (samples_per_bit(m) / 2 + 1 + samples_per_bit(m) * bit);
}

/* Looks for the next start bit, from cycle `now` on. */
static void listen(struct mcu *m, cycle_t now)
{
	struct usart *u = &m->usart;

	event_set(m, EV_RX, NEVER);
	if (!enabled(m))
		return;
	rxd_forget(u, now);
	for (cycle_t fall = rxd_fall(u, now); fall != NEVER; fall = rxd_fall(u, fall + 1)) {
		u->rx.first_sample = clocked(m, sample(m), fall);
		if (rxd_level(u, u->rx.first_sample))
			continue; /* gone before it was sampled */
		u->rx.bit = 0;
		event_set(m, EV_RX, decision(m, 0));
		return;
	}
}

void usart_schedule(struct mcu *m, cycle_t start, uint32_t bit, const uint8_t *bytes, int count)
{
	struct usart *u = &m->usart;
	uint64_t at = start << 8;

	if (start < m->floor)
		fatal(m, "bytes scheduled for cycle %llu, before the present cycle %llu",
		      (unsigned long long)start, (unsigned long long)m->floor);
	if (bit < 256)
		fatal(m, "a bit of %u/256 cycle", bit);
	if (u->line_count + count > RXD_MAX)
		fatal(m, "more than %d bytes on the wire", RXD_MAX);
	if (at < u->line_free)
		at = u->line_free;
	for (int i = 0; i < count; i++, at += 10 * (uint64_t)bit)
		u->line[(u->line_first + u->line_count++) % RXD_MAX] =
			(struct rxd_byte){ .start = at, .bit = bit, .value = bytes[i] };
	u->line_free = at;
	if (m->events.when[EV_RX] == NEVER)
		listen(m, m->floor);
}

static void receive(struct mcu *m, struct frame f)
{
	struct usart *u = &m->usart;

	u->received++;
	u->frame_errors += f.error;
	if (u->rx.fifo_count < 2) {
		u->rx.fifo[u->rx.fifo_count++] = f;
	} else {
		u->rx.held = f;
		u->rx.holding = true;
	}
}

/* "A Data OverRun occurs when the receive buffer is full (two characters), it is
 * a new character waiting in the Receive Shift Register, and a new start bit is
 * detected." */
static void start_bit_found(struct mcu *m)
{
	struct usart *u = &m->usart;

	u->rx.shift = 0;
	if (!u->rx.holding)
		return;
	u->rx.holding = false;
	u->rx.overrun = true;
	u->overruns++;
}

static void rx_event(struct mcu *m, cycle_t edge)
{
	struct usart *u = &m->usart;
	/* The vote of the three samples; a bit has more than three, so at most one
	 * edge falls among them and the middle one decides. */
	bool high = rxd_level(u, edge - sample(m));

	if (u->rx.bit == 0 && high) {
		listen(m, edge); /* noise, no start bit */
		return;
	}
	if (u->rx.bit == 0)
		start_bit_found(m);
	else if (u->rx.bit < 9)
		u->rx.shift |= high << (u->rx.bit - 1);
	if (u->rx.bit == 9) {
		receive(m, (struct frame){ .value = u->rx.shift, .error = !high });
		request(m, edge);
		listen(m, edge);
		return;
	}
	u->rx.bit++;
	event_set(m, EV_RX, decision(m, u->rx.bit));
}

static void flush(struct usart *u)
{
	u->rx.fifo_count = 0;
	u->rx.holding = u->rx.overrun = false;
}

static uint8_t read_udr(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;
	struct usart *u = &m->usart;
	cycle_t now = access_read(m);

	(void)avr;
	(void)a;
	events_until(m, now);
	uint8_t value = u->rx.fifo[0].value; /* when empty: what was there last */

	if (u->rx.fifo_count) {
		u->rx.fifo[0] = u->rx.fifo[1];
		u->rx.fifo_count--;
	}
	if (u->rx.holding) {
		u->rx.fifo[u->rx.fifo_count++] = u->rx.held;
		u->rx.holding = false;
	}
	u->rx.overrun = false;
	request(m, now);
	return value;
}

/* ---- transmitter ---- */

static void transmit(struct mcu *m, uint8_t value, cycle_t start)
{
	m->usart.tx.busy = true;
	m->usart.tx.shift = value;
	event_set(m, EV_TX, start + 10 * (cycle_t)bit_cycles(m));
}

static void write_udr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	struct usart *u = &m->usart;
	cycle_t edge = access_write(m) + 1;

	(void)a;
	events_until(m, edge);
	if (!(avr->data[UCSR0B] & 1 << TXEN0) || u->tx.full)
		return; /* "data written ... when the UDRE0 Flag is not set, will be ignored" */
	if (u->tx.busy) {
		u->tx.waiting = v;
		u->tx.full = true;
	} else {
		transmit(m, v, clocked(m, bit_cycles(m), edge));
	}
	request(m, edge);
}

static void tx_event(struct mcu *m, cycle_t edge)
{
	struct usart *u = &m->usart;

	u->tx.busy = false;
	tell_byte(u->tx.shift, bit_cycles(m), edge);
	if (u->tx.shift == 0)
		m->delimiter = edge;
	if (u->tx.full) {
		u->tx.full = false;
		transmit(m, u->tx.waiting, edge);
	} else {
		u->tx.done = true;
	}
	request(m, edge);
}

static void acknowledge_tx(struct mcu *m, int vector, cycle_t when)
{
	(void)vector;
	m->usart.tx.done = false;
	request(m, when);
}

/* ---- control and status ---- */

static uint8_t read_ucsra(avr_t *avr, avr_io_addr_t a, void *param)
{
	struct mcu *m = param;
	struct usart *u = &m->usart;

	events_until(m, access_read(m));
	return (avr->data[a] & 1 << U2X0) | (u->rx.fifo_count > 0) << RXC0 | u->tx.done << TXC0 |
	       !u->tx.full << UDRE0 | (u->rx.fifo_count && u->rx.fifo[0].error) << FE0 |
	       u->rx.overrun << DOR0;
}

static void write_ucsra(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	if (v & 1 << MPCM0)
		fatal(m, "UCSR0A = 0x%02x: multi-processor mode is not modelled", v);
	events_until(m, edge);
	if (v & 1 << TXC0)
		m->usart.tx.done = false;
	if ((avr->data[a] ^ v) & 1 << U2X0) {
		avr->data[a] = v & 1 << U2X0;
		listen(m, edge);
	}
	request(m, edge);
}

static void write_ucsrb(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;
	uint8_t changed;

	if (v & 1 << UCSZ02)
		fatal(m, "UCSR0B = 0x%02x: only 8 data bits are modelled", v);
	events_until(m, edge);
	changed = avr->data[a] ^ v;
	avr->data[a] = v;
	if (changed & 1 << RXEN0) {
		flush(&m->usart);
		listen(m, edge);
	}
	request(m, edge);
}

static void write_ucsrc(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	if (v != (1 << UCSZ01 | 1 << UCSZ00))
		fatal(param, "UCSR0C = 0x%02x: only 8 data bits, no parity, 1 stop bit is modelled", v);
	avr->data[a] = v;
}

static void write_ubrr(avr_t *avr, avr_io_addr_t a, uint8_t v, void *param)
{
	struct mcu *m = param;
	cycle_t edge = access_write(m) + 1;

	events_until(m, edge);
	avr->data[a] = v;
	m->usart.clock_zero = edge; /* "an immediate update of the baud rate prescaler" */
	listen(m, edge);
}

void usart_reset(struct mcu *m)
{
	struct usart *u = &m->usart;

	flush(u);
	u->clock_zero = m->avr->cycle;
	u->tx.busy = u->tx.full = u->tx.done = false;
	m->avr->data[UCSR0C] = 1 << UCSZ01 | 1 << UCSZ00;
	event_set(m, EV_RX, NEVER);
	event_set(m, EV_TX, NEVER);
}

void usart_init(struct mcu *m)
{
	event_handle(m, EV_RX, rx_event);
	event_handle(m, EV_TX, tx_event);
	irq_handle(m, USART_TX_vect_num, acknowledge_tx);
	hook(m, UDR0, read_udr, write_udr);
	hook(m, UCSR0A, read_ucsra, write_ucsra);
	hook(m, UCSR0B, NULL, write_ucsrb);
	hook(m, UCSR0C, NULL, write_ucsrc);
	hook(m, UBRR0L, NULL, write_ubrr);
	hook(m, UBRR0H, NULL, write_ubrr);
}
