/* The least station on a bare board, to measure core by: bytes of one scale in, one key, records out to a store that takes
 * them at once. Its structures are the RAM that core needs; formula, profile and setup are constants in flash. */
#include <string.h>

#include "core/decode.h"
#include "core/sequence.h"
#include "tests/arm/vectors.h"

/* Addresses of no board in particular: a port with a status and a data register, a clock, a key, a store. */
#define PORT ((volatile uint32_t *)0x40004000)
#define CLOCK ((volatile uint32_t *)0x40005000)
#define KEY ((volatile uint32_t *)0x40006000)
#define STORE ((volatile uint32_t *)0x40007000)

static struct sequence sequence;
static struct item items[CAP_ITEMS];
static uint16_t order[CAP_ITEMS];
static struct decoder decoder;
static struct event event;
static struct effects effects;

static uint64_t now(void)
{
    return (uint64_t)CLOCK[1] << 32 | CLOCK[0];
}

static void store(const struct record *r)
{
    const uint8_t *bytes = (const uint8_t *)r;
    for (size_t k = 0; k < sizeof *r; k++)
        *STORE = bytes[k];
}

static void step(void)
{
    bool record = true;
    event.at = now();
    sequence_step(&sequence, &event, &effects);
    while (record) {
        record = false;
        for (uint8_t k = 0; k < effects.count; k++)
            record = record || effects.list[k].kind == FX_RECORD;
        if (!record)
            return;
        store(&sequence.pending);
        event.kind = EV_STORED;
        sequence_step(&sequence, &event, &effects);
    }
}

int main(void)
{
    uint64_t since = now();
    decoder_reset(&decoder);
    if (sequence_init(&sequence, &vector_setup, items, order, CAP_ITEMS) != FAIL_NONE)
        return 1;
    sequence_begin(&sequence, NULL, since, &effects);
    for (;;) {
        uint64_t at = now();
        if (PORT[0] &&
            decode_byte(&vector_profile, &decoder, (uint8_t)PORT[1], at, since, &event.reading) == DECODE_READING) {
            event.kind = EV_READING;
            step();
        }
        since = at;
        if (*KEY) {
            memset(&event, 0, sizeof event);
            event.kind = EV_ANSWER;
            event.answer.prompt = sequence.prompt.id;
            event.answer.word = (uint8_t)*KEY;
            step();
        }
        if (sequence_next(&sequence, since) <= now()) {
            event.kind = EV_TICK;
            step();
        }
    }
}
