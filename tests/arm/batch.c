/* A whole small batch: bytes -> decode -> settle -> sequence, every reading, effect, prompt and record into the hash.
 * Then the records alone, applied to a fresh state, must give the same items: that is how a batch is resumed. */
#include <string.h>

#include "core/decode.h"
#include "core/sequence.h"
#include "tests/arm/hash.h"
#include "tests/arm/replay.h"
#include "tests/arm/vectors.h"

#define TENTH 100000u /* microseconds */
#define BYTE_US 1042u /* of ten bits at 9600 baud */
#define RECORDS 80

static struct sequence sequence;
static struct item items[CAP_ITEMS];
static uint16_t order[CAP_ITEMS];
static struct decoder decoder;
static struct event event;
static struct effects effects;
static struct record records[RECORDS];
static uint16_t record_count;
static struct part whole;
static uint64_t now_us;
static bool store_fails;

static void take(uint64_t value)
{
    whole.hash = hash_number(whole.hash, value);
}

static void take_mass(mass_pg mass)
{
    take((uint64_t)mass);
}

static void take_text(const char *text)
{
    whole.hash = hash_text(whole.hash, text);
}

static void take_prompt(const struct prompt *p)
{
    const uint64_t numbers[] = {p->id,  p->ask,  p->what,     p->item,      p->scale, p->ingredient,
                                p->way, p->back, p->has_band, p->has_empty, p->typed, p->answers};
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++)
        take(numbers[k]);
    const mass_pg masses[] = {p->target, p->low, p->high, p->empty, p->net, p->take, p->basis};
    for (size_t k = 0; k < sizeof masses / sizeof masses[0]; k++)
        take_mass(masses[k]);
}

static void take_record(const struct record *r)
{
    const uint64_t numbers[] = {
        r->kind,      r->scale,    r->ingredient, r->verdict, r->manner, r->state, r->has_band,
        r->has_gross, r->disputed, r->known,      r->item,    r->parent, r->next,  (uint64_t)(int64_t)r->value_milli,
        r->basis};
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++)
        take(numbers[k]);
    const mass_pg masses[] = {r->gross, r->tare, r->net, r->target, r->low, r->high};
    for (size_t k = 0; k < sizeof masses / sizeof masses[0]; k++)
        take_mass(masses[k]);
    take_text(r->lot);
    take_text(r->next_lot);
    take_text(r->person);
    take_text(r->second);
    take_text(r->reason);
}

static void take_effects(void)
{
    for (uint8_t k = 0; k < effects.count; k++) {
        const struct effect *e = &effects.list[k];
        const uint64_t numbers[] = {e->kind, e->scale, e->code, e->ingredient, e->item, e->prompt, (uint64_t)e->mass};
        for (size_t n = 0; n < sizeof numbers / sizeof numbers[0]; n++)
            take(numbers[n]);
        if (e->kind == FX_PROMPT)
            take_prompt(&sequence.prompt);
        whole.count++;
    }
}

static bool proposed(void)
{
    for (uint8_t k = 0; k < effects.count; k++)
        if (effects.list[k].kind == FX_RECORD)
            return true;
    return false;
}

/* One event, and the store's answer to whatever it proposes. */
static void step(enum event_kind kind)
{
    event.kind = (uint8_t)kind;
    event.at = now_us;
    sequence_step(&sequence, &event, &effects);
    take_effects();
    while (proposed()) {
        take_record(&sequence.pending);
        if (!store_fails && record_count < RECORDS)
            records[record_count++] = sequence.pending;
        event.kind = store_fails ? EV_STORE_FAILED : EV_STORED;
        store_fails = false;
        sequence_step(&sequence, &event, &effects);
        take_effects();
    }
}

static void tick_until(uint64_t at)
{
    uint64_t next = sequence_next(&sequence, now_us);
    while (next && next <= at) {
        now_us = next;
        take(next);
        step(EV_TICK);
        next = sequence_next(&sequence, now_us);
    }
    now_us = at;
}

static void feed_line(const char *text)
{
    uint64_t begun = now_us;
    for (size_t k = 0; text[k]; k++) {
        uint64_t at = begun + (k + 1) * BYTE_US;
        tick_until(at);
        enum decode_result result =
            decode_byte(&vector_profile, &decoder, (uint8_t)text[k], at, at - BYTE_US, &event.reading);
        take(result);
        take(decode_missing(&decoder));
        if (result == DECODE_READING) {
            const struct reading r = event.reading;
            const uint64_t numbers[] = {(uint64_t)r.mass, (uint64_t)r.step, r.at,   r.since,
                                        r.state,          r.basis,          r.unit, r.places};
            for (size_t n = 0; n < sizeof numbers / sizeof numbers[0]; n++)
                take(numbers[n]);
            event.scale = 0;
            step(EV_READING);
        }
    }
    tick_until(begun + TENTH);
}

/* Who has an S in front may do everything. */
static void take_person(struct person *who, const char *code)
{
    memset(who, 0, sizeof *who);
    for (size_t k = 0; code[k] && k + 1 < sizeof who->code; k++)
        who->code[k] = code[k];
    who->rights = code[0] == 'S' ? RIGHT_ACCEPT | RIGHT_TYPE | RIGHT_RELEASE : 0;
}

static void answer(const struct vector *v)
{
    struct answer *a = &event.answer;
    size_t n = 0;
    memset(a, 0, sizeof *a);
    a->prompt = sequence.prompt.id;
    a->word = v->word;
    a->value_milli = v->value_milli;
    for (; v->text[n] && n + 1 < sizeof a->text; n++)
        a->text[n] = v->text[n];
    if (v->word == ANSWER_TYPED)
        take((uint64_t)mass_parse(v->text, n, &a->mass));
    if (v->word == ANSWER_PERSON || v->word == ANSWER_YES)
        take_person(&a->who, v->text);
    step(EV_ANSWER);
}

static void perform(const struct vector *v)
{
    for (uint16_t k = 0; k < v->count; k++)
        switch ((enum vector_kind)v->kind) {
        case VECTOR_LINE:
            feed_line(v->text);
            break;
        case VECTOR_QUIET:
            tick_until(now_us + TENTH);
            break;
        case VECTOR_UNPLUG:
            event.scale = 0;
            event.link = LINK_UNPLUGGED;
            step(EV_LINK);
            break;
        case VECTOR_ANSWER:
            answer(v);
            break;
        case VECTOR_FAIL:
            store_fails = true;
            break;
        }
}

struct part replay_batch(void)
{
    whole = (struct part){HASH_START, 0};
    now_us = 1000000;
    decoder_reset(&decoder);
    take((uint64_t)sequence_init(&sequence, &vector_setup, items, order, CAP_ITEMS));
    sequence_begin(&sequence, NULL, now_us, &effects);
    take_effects();
    for (uint16_t k = 0; k < vector_batch_count; k++)
        perform(&vector_batch[k]);
    return whole;
}

static void take_item(const struct item *it)
{
    const uint64_t numbers[] = {it->id,         it->parent,   it->kind,          it->status,  it->way,
                                it->ingredient, it->step,     it->scale,         it->verdict, it->manner,
                                it->lot_known,  it->has_band, it->more_answered, it->in_place};
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++)
        take(numbers[k]);
    const mass_pg masses[] = {it->target, it->low, it->high, it->gross, it->tare, it->net};
    for (size_t k = 0; k < sizeof masses / sizeof masses[0]; k++)
        take_mass(masses[k]);
    take_text(it->lot);
    whole.count++;
}

/* The items in working order and the batch's state; count 0 unless the batch is complete. */
struct part replay_items(void)
{
    whole = (struct part){HASH_START, 0};
    for (uint16_t k = 0; k < sequence.item_count; k++)
        take_item(sequence_item(&sequence, order[k]));
    take(sequence.state);
    if (sequence.state != BATCH_COMPLETE)
        whole.count = 0;
    return whole;
}

struct part replay_resumed(void)
{
    (void)sequence_init(&sequence, &vector_setup, items, order, CAP_ITEMS);
    for (uint16_t k = 0; k < record_count; k++)
        if (sequence_apply(&sequence, &records[k]) != FAIL_NONE)
            return (struct part){k, 0};
    return replay_items();
}
