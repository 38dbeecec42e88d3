/*
 * The firmware's framing against the published vectors of testdata/wire, with
 * the host's compiler. Usage: frame_test FOLDER
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../frame.h"

enum { MOST = 512 };

struct bytes {
	uint8_t b[MOST];
	size_t n;
};

static struct bytes sent;
static int failures;

void sink_put(uint8_t byte)
{
	if (sent.n == MOST)
		abort();
	sent.b[sent.n++] = byte;
}

void sink_wait(void)
{
}

static void expect(int ok, const char *what, const char *line)
{
	if (ok)
		return;
	fprintf(stderr, "frame_test: %s: %s\n", what, line);
	failures++;
}

static int same(const struct bytes *a, const uint8_t *b, size_t n)
{
	return a->n == n && memcmp(a->b, b, n) == 0;
}

static struct bytes parse(const char *hex)
{
	struct bytes out = { .n = 0 };
	unsigned byte;

	for (; sscanf(hex, "%2x", &byte) == 1; hex += 2)
		out.b[out.n++] = (uint8_t)byte;
	return out;
}

static struct bytes stuff(const struct bytes *data)
{
	sent.n = 0;
	frame_stuff(data->b, (uint8_t)data->n);
	return sent;
}

static struct frame_decoder decoder_into(struct bytes *out)
{
	return (struct frame_decoder){ .data = out->b, .room = 255 };
}

/* Decodes without the closing zero, so that no check is asked for. */
static int decodes_to(const struct bytes *encoded, const struct bytes *data)
{
	static struct bytes out;
	struct frame_decoder d = decoder_into(&out);

	for (size_t i = 0; i < encoded->n; i++)
		if (frame_next(&d, encoded->b[i]) != FRAME_MORE)
			return 0;
	out.n = d.length;
	return !d.left && !d.overflow && same(&out, data->b, data->n);
}

static void test_cobs(const char *data_hex, const char *encoded_hex)
{
	struct bytes data = parse(data_hex), encoded = parse(encoded_hex);
	struct bytes got = stuff(&data);

	expect(same(&got, encoded.b, encoded.n), "stuffing", data_hex);
	expect(decodes_to(&encoded, &data), "unstuffing", encoded_hex);
	if (encoded.n > 254 && encoded.b[encoded.n - 255] == 0xFF) {
		encoded.b[encoded.n++] = 1; /* the other form of a final full block */
		expect(decodes_to(&encoded, &data), "unstuffing with a last empty block", encoded_hex);
	}
}

static void test_crc(const char *message_hex, const char *crc_hex)
{
	struct bytes message = parse(message_hex);
	uint16_t crc = FRAME_CRC_START;

	for (size_t i = 0; i < message.n; i++)
		crc = frame_crc(crc, message.b[i]);
	expect(crc == strtoul(crc_hex, NULL, 16), "CRC", message_hex);
}

/* Runs test over the pairs of a file; gives how many there were. */
static int each_pair(const char *folder, const char *name, void (*test)(const char *, const char *))
{
	char path[1024], line[2 * MOST + 64], first[MOST + 32], second[MOST + 32];
	int pairs = 0;
	FILE *file;

	snprintf(path, sizeof path, "%s/%s", folder, name);
	file = fopen(path, "r");
	if (!file) {
		perror(path);
		exit(1);
	}
	while (fgets(line, sizeof line, file)) {
		if (*line == '#' || *line == '\n')
			continue;
		if (sscanf(line, "%543s %543s", first, second) != 2) {
			fprintf(stderr, "frame_test: %s: not a pair: %s", path, line);
			exit(1);
		}
		test(first, second);
		pairs++;
	}
	fclose(file);
	expect(pairs > 0, "no vectors in", path);
	return pairs;
}

/* Feeds bytes to a decoder of the board's size; gives the last result. */
static enum frame_result feed(struct frame_decoder *d, const uint8_t *b, size_t n)
{
	enum frame_result result = FRAME_MORE;

	while (n--)
		result = frame_next(d, *b++);
	return result;
}

static void test_frames(void)
{
	uint8_t message[64 + FRAME_CHECK_SIZE], back[64 + FRAME_CHECK_SIZE];
	struct frame_decoder d = { .data = back, .room = sizeof back };

	for (uint8_t n = 1; n <= 64; n++) {
		for (uint8_t i = 0; i < n; i++)
			message[i] = (uint8_t)(i * n % 7); /* zeros in many places */
		sent.n = 0;
		frame_send(message, n);
		expect(memchr(sent.b, 0, sent.n) == sent.b + sent.n - 1, "zero inside", "frame");
		expect(feed(&d, sent.b, sent.n) == FRAME_GOOD && d.length == n + FRAME_CHECK_SIZE &&
		       memcmp(message, back, n) == 0, "there and back", "frame");
		sent.b[n / 2] ^= 0x80; /* never turns a byte of this frame into zero */
		expect(feed(&d, sent.b, sent.n) == FRAME_BAD, "damage unseen", "frame");
	}
}

static void test_refusals(void)
{
	static const uint8_t cut[] = { 5, 0x31, 0x32, 0x33, 0 };
	static const uint8_t bare[] = { 1, 0 };
	static const uint8_t check_alone[] = { 3, 0xFF, 0xFF, 0 };
	uint8_t back[66], many[80];
	struct frame_decoder d = { .data = back, .room = sizeof back };

	memset(many, 1, sizeof many);
	many[sizeof many - 1] = 0;
	expect(feed(&d, (const uint8_t[]){ 0 }, 1) == FRAME_EMPTY, "empty", "frame");
	expect(feed(&d, cut, sizeof cut) == FRAME_BAD, "cut block", "frame");
	expect(feed(&d, bare, sizeof bare) == FRAME_BAD, "no bytes", "frame");
	expect(feed(&d, check_alone, sizeof check_alone) == FRAME_BAD, "no message", "frame");
	expect(feed(&d, many, sizeof many) == FRAME_BAD, "too long", "frame");
	expect(feed(&d, (const uint8_t[]){ 0 }, 1) == FRAME_EMPTY, "empty again", "frame");
}

int main(int argc, char **argv)
{
	int pairs;

	if (argc != 2) {
		fprintf(stderr, "usage: frame_test FOLDER\n");
		return 2;
	}
	pairs = each_pair(argv[1], "cobs.txt", test_cobs);
	pairs += each_pair(argv[1], "crc.txt", test_crc);
	test_frames();
	test_refusals();
	if (failures)
		return 1;
	printf("frame_test: %d vectors and the frames are right\n", pairs);
	return 0;
}
