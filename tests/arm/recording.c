/* A scale's recording through decode and settle: every reading, every bad line and every judgement goes into the hash. */
#include "core/decode.h"
#include "core/settle.h"
#include "tests/arm/hash.h"
#include "tests/arm/recordings.h"
#include "tests/arm/replay.h"

static uint64_t hash_reading(uint64_t hash, const struct reading *r)
{
    hash = hash_number(hash, (uint64_t)r->mass);
    hash = hash_number(hash, (uint64_t)r->step);
    hash = hash_number(hash, r->at);
    hash = hash_number(hash, r->since);
    hash = hash_byte(hash, r->state);
    hash = hash_byte(hash, r->basis);
    hash = hash_byte(hash, r->unit);
    return hash_byte(hash, r->places);
}

struct settling {
    struct settle settle;
    struct settle_rule rule;
    struct decoder decoder;
    struct part part;
};

static void take_byte(struct settling *s, const struct recording *from, uint8_t byte, uint64_t at, uint64_t since)
{
    struct reading r = {0};
    mass_pg mass = 0;
    enum decode_result result = decode_byte(from->profile, &s->decoder, byte, at, since, &r);
    if (result == DECODE_MORE)
        return;
    s->part.hash = hash_byte(s->part.hash, (uint8_t)result);
    if (result != DECODE_READING)
        return;
    s->part.count++;
    s->part.hash = hash_reading(s->part.hash, &r);
    settle_feed(&s->settle, &s->rule, &r);
    s->part.hash = hash_byte(s->part.hash, (uint8_t)settle_judge(&s->settle, &s->rule, at, &mass));
    s->part.hash = hash_number(s->part.hash, (uint64_t)mass);
}

struct part replay_recording(const struct recording *from)
{
    static struct settling s;
    const uint8_t *byte = from->bytes;
    uint64_t since = 1;
    s.part = (struct part){HASH_START, 0};
    s.rule = settle_rule_for(from->profile, from->division);
    settle_reset(&s.settle);
    decoder_reset(&s.decoder);
    for (uint32_t k = 0; k < from->read_count; k++) {
        uint64_t at = from->reads[k].at + UINT64_C(1); /* time 0 would mean never */
        for (uint16_t n = 0; n < from->reads[k].count; n++)
            take_byte(&s, from, *byte++, at, since);
        since = at;
    }
    return s.part;
}
