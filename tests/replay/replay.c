/* Every recording through decode: each reading says what truly stood on the platform then, by the check file beside it.
 * replay NAME...: these; none: all, and every profile that is shipped must have one. */
#include <glob.h>
#include <stdio.h>
#include <string.h>

#include "core/decode.h"
#include "tests/replay/load.h"

/* While the figure moves it may run ahead and fall back by so many divisions: common practice, no source. */
#define SWING 12
#define LEAST_STILL 2

static struct recorded rec;
static unsigned faults;

struct tally {
    unsigned readings, bad, seen[LOAD_SPANS];
};

static const struct truth *span_at(uint64_t at, unsigned *number)
{
    for (unsigned i = 0; i < rec.span_count; i++)
        if (rec.spans[i].from <= at && at < rec.spans[i].to) {
            *number = i;
            return &rec.spans[i];
        }
    return NULL;
}

static void wrong(uint64_t at, const char *what, const struct reading *r)
{
    char text[MASS_TEXT_MAX] = "no weight";
    if (r && reading_has_weight(r))
        mass_format_unit(r->mass, (enum mass_unit)r->unit, r->places, text, sizeof text);
    printf("%s at %llu: %s, not %s (state %d)\n", rec.name, (unsigned long long)at, what, text, r ? r->state : -1);
    faults++;
}

static bool marks(void)
{
    return rec.profile.has_motion;
}

static bool has_word(uint8_t state)
{
    const struct profile *p = &rec.profile;
    bool has = p->form == FORM_REPORTS && state != READING_NOTYET; /* the usage page has one for each other */
    for (uint8_t i = 0; i < p->word_count; i++)
        has =
            has || ((p->words[i].kind == FIELD_STATUS || p->words[i].kind == FIELD_LINE) && p->words[i].means == state);
    for (uint8_t i = 0; i < p->bit_count; i++)
        has = has || (p->named[i].kind == FIELD_STATUS && p->named[i].means == state);
    return has;
}

/* The state that a stretch without a weight is said by. A scale that has no word for warming up calls it a fault. */
static uint8_t said_as(uint8_t span)
{
    static const uint8_t states[] = {[SPAN_OVER] = READING_OVER,
                                     [SPAN_UNDER] = READING_UNDER,
                                     [SPAN_FAULT] = READING_FAULT,
                                     [SPAN_NOTYET] = READING_NOTYET};
    return span == SPAN_NOTYET && !has_word(READING_NOTYET) ? READING_FAULT : states[span];
}

static bool weightless(uint8_t span)
{
    return span == SPAN_OVER || span >= SPAN_UNDER;
}

/* What the scale can say it must have said, and what it can't it must not have said as a weight. */
static void check_seen(const struct truth *is, unsigned seen)
{
    bool due = is->kind == SPAN_STILL || (weightless(is->kind) && has_word(said_as(is->kind)));
    if (due && seen < LEAST_STILL)
        wrong(is->from, "too few readings came", NULL);
    if (!due && weightless(is->kind) && seen)
        wrong(is->from, "it has no word for that", NULL);
}

static void check(const struct reading *r, struct tally *t)
{
    unsigned number;
    const struct truth *is = span_at(r->at, &number);
    mass_pg swing = SWING * rec.division;
    if (!is)
        return;
    t->seen[number]++;
    switch (is->kind) {
    case SPAN_OVER: /* the platform takes a moment to get there */
        if (r->at > is->from + 700000 && r->state != READING_OVER)
            wrong(r->at, "it was over capacity", r);
        break;
    case SPAN_UNDER:
    case SPAN_FAULT:
    case SPAN_NOTYET:
        if (reading_has_weight(r) || r->state != said_as(is->kind))
            wrong(r->at, "it had no weight", r);
        break;
    case SPAN_BETWEEN:
        if (!reading_has_weight(r) || r->mass < is->low - swing || r->mass > is->high + swing)
            wrong(r->at, "it was between the two", r);
        break;
    case SPAN_NOISE:
        if (reading_has_weight(r) && r->mass != is->low)
            wrong(r->at, "it was what stood there before the noise", r);
        break;
    default:
        if (!reading_has_weight(r) || r->mass != is->low)
            wrong(r->at, "it stood still", r);
        else if (r->state != (marks() ? READING_STABLE : READING_UNKNOWN))
            wrong(r->at, "its mark was stable", r);
    }
}

/* Refused lines belong to noise, or to the first line, whose front may be missing. */
static void check_bad(uint64_t at, const struct tally *t)
{
    unsigned number;
    const struct truth *is = span_at(at, &number);
    if ((t->readings > 0 && (!is || is->kind != SPAN_NOISE)) || (t->readings == 0 && t->bad > 1))
        wrong(at, "a line was refused", NULL);
}

static void replay(const char *name)
{
    struct decoder d;
    struct tally t = {0};
    load(name, &rec);
    decoder_reset(&d);
    for (unsigned i = 0; i < rec.count; i++) {
        const struct moment *m = &rec.moments[i];
        struct reading r;
        enum decode_result got = decode_byte(&rec.profile, &d, m->byte, m->at, m->since, &r);
        if (got == DECODE_READING) {
            t.readings++;
            check(&r, &t);
        } else if (got != DECODE_MORE) {
            t.bad++;
            check_bad(m->at, &t);
        }
    }
    for (unsigned i = 0; i < rec.span_count; i++)
        check_seen(&rec.spans[i], t.seen[i]);
    printf("%-28s %u bytes, %u readings, %u refused\n", name, (unsigned)rec.count, t.readings, t.bad);
}

/* A shipped profile without a recording would be an untested one. */
static void all_recorded(char names[LOAD_NAMES][CAP_KEY], unsigned count)
{
    glob_t g;
    if (glob("profiles/scales/*.ini", 0, NULL, &g))
        faults++;
    for (size_t i = 0; i < g.gl_pathc; i++) {
        bool known = false;
        for (unsigned k = 0; k < count; k++)
            known = known || strstr(g.gl_pathv[i], names[k]);
        if (!known) {
            printf("%s has no recording: make record\n", g.gl_pathv[i]);
            faults++;
        }
    }
    globfree(&g);
}

int main(int argc, char **argv)
{
    static char names[LOAD_NAMES][CAP_KEY];
    for (int i = 1; i < argc; i++)
        replay(argv[i]);
    if (argc == 1) {
        unsigned n = load_names(names);
        all_recorded(names, n);
        for (unsigned i = 0; i < n; i++) {
            char states[CAP_KEY + 8];
            replay(names[i]);
            snprintf(states, sizeof states, "states/%s", names[i]);
            replay(states);
        }
        if (n < 16)
            faults++;
    }
    return faults > 0;
}
