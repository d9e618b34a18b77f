/* Encode: see encode.h. The way back of core's decode, by the same profile; what the profile can't say is not sent. */
#include "plant/encode.h"

#include <string.h>

struct line {
    char *buf;
    uint8_t len;
    bool full;
};

static void put(struct line *l, const char *bytes, size_t n)
{
    if (n > (size_t)(PROFILE_LINE_MAX - l->len)) {
        l->full = true;
        return;
    }
    memcpy(l->buf + l->len, bytes, n);
    l->len = (uint8_t)(l->len + n);
}

static void put_repeated(struct line *l, char byte, size_t n)
{
    while (n-- && !l->full)
        put(l, &byte, 1);
}

static const struct profile_word *find_word(const struct profile *p, uint8_t kind, uint8_t means)
{
    for (uint8_t i = 0; i < p->word_count; i++)
        if (p->words[i].kind == kind && p->words[i].means == means)
            return &p->words[i];
    return NULL;
}

/* A scale without a motion mark has one word for every weight. */
static const struct profile_word *state_word(const struct profile *p, uint8_t state)
{
    const struct profile_word *w = find_word(p, FIELD_STATUS, state);
    if (!w && (state == READING_STABLE || state == READING_MOVING))
        w = find_word(p, FIELD_STATUS, READING_UNKNOWN);
    return w;
}

static bool put_word(struct line *l, const struct profile_field *f, const struct profile_word *w)
{
    if (!w || (f->width && w->len > f->width))
        return false;
    put(l, w->text, w->len);
    if (f->width)
        put_repeated(l, ' ', (size_t)(f->width - w->len));
    return true;
}

static bool has_field(const struct profile *p, uint8_t kind)
{
    for (uint8_t i = 0; i < p->field_count; i++)
        if (p->fields[i].kind == kind)
            return true;
    return false;
}

/* The digits without sign, in the profile's manner. 0 if they can't be shown. */
static size_t digits_of(const struct profile *p, const struct reading *r, mass_pg size, char text[MASS_TEXT_MAX])
{
    int places = r->places;
    if (p->implied) {
        if (places > p->implied)
            return 0;
        places = p->implied;
    }
    size_t n = mass_format(size, (enum mass_unit)r->unit, places, text, MASS_TEXT_MAX);
    char *dot = memchr(text, '.', n);
    if (dot && p->implied) {
        memmove(dot, dot + 1, (size_t)(text + n - dot - 1));
        n--;
    } else if (dot) {
        *dot = p->decimal;
    }
    return n;
}

/* A state without a weight is said in the status field, or in the figure's place where its word is too long for that. */
static bool said_by_status(const struct profile *p, const struct profile_word *w)
{
    for (uint8_t i = 0; i < p->field_count; i++)
        if (p->fields[i].kind == FIELD_STATUS && (!p->fields[i].width || w->len <= p->fields[i].width))
            return true;
    return false;
}

static bool put_status(struct line *l, const struct profile *p, const struct profile_field *f, uint8_t state)
{
    const struct profile_word *w = state_word(p, state);
    if (w && !said_by_status(p, w))
        w = state_word(p, READING_STABLE);
    return put_word(l, f, w);
}

static bool put_no_weight(struct line *l, const struct profile *p, const struct profile_field *f, uint8_t state)
{
    const struct profile_word *w = state_word(p, state);
    if (said_by_status(p, w)) {
        put_repeated(l, f->width ? ' ' : '-', f->width ? f->width : 5);
        return true;
    }
    if (f->width && w->len > f->width)
        return false;
    put_repeated(l, ' ', f->width ? (size_t)(f->width - w->len) : 0);
    put(l, w->text, w->len);
    return true;
}

static bool put_weight(struct line *l, const struct profile *p, const struct profile_field *f, const struct reading *r)
{
    char text[MASS_TEXT_MAX];
    if (!reading_has_weight(r))
        return put_no_weight(l, p, f, r->state);
    bool minus = r->mass < 0 && !has_field(p, FIELD_SIGN);
    size_t n = digits_of(p, r, r->mass < 0 ? -r->mass : r->mass, text);
    size_t need = n + (minus ? 1 : 0);
    if (!n || (f->width && need > f->width))
        return false;
    put_repeated(l, ' ', f->width ? f->width - need : 0);
    if (minus)
        put(l, "-", 1);
    put(l, text, n);
    return true;
}

static bool put_field(struct line *l, const struct profile *p, const struct profile_field *f, const struct reading *r)
{
    switch (f->kind) {
    case FIELD_LITERAL:
        put(l, f->text, f->len);
        return true;
    case FIELD_SKIP:
    case FIELD_BLANKS:
        put_repeated(l, ' ', f->width ? f->width : 1);
        return true;
    case FIELD_STATUS:
        return put_status(l, p, f, r->state);
    case FIELD_BASIS:
        return put_word(l, f, find_word(p, FIELD_BASIS, r->basis));
    case FIELD_UNIT:
        return put_word(l, f, find_word(p, FIELD_UNIT, r->unit));
    case FIELD_SIGN:
        put(l, !reading_has_weight(r) ? " " : r->mass < 0 ? "-" : "+", 1);
        return true;
    case FIELD_WEIGHT:
        return put_weight(l, p, f, r);
    default:
        return false;
    }
}

uint8_t encode_line(const struct profile *p, const struct reading *r, char buf[PROFILE_LINE_MAX])
{
    struct line l = {.buf = buf};
    /* Without a word for it, a scale that shows no weight sends nothing. */
    if (!reading_has_weight(r) && !state_word(p, r->state))
        return 0;
    if (!encode_has_unit(p, (enum mass_unit)r->unit))
        return 0;
    for (uint8_t i = 0; i < p->field_count; i++)
        if (!put_field(&l, p, &p->fields[i], r))
            return 0;
    put(&l, p->end, p->end_len);
    return l.full ? 0 : l.len;
}

enum mass_unit encode_unit(const struct profile *p)
{
    if (p->unit != UNIT_NONE)
        return (enum mass_unit)p->unit;
    for (uint8_t i = 0; i < p->word_count; i++)
        if (p->words[i].kind == FIELD_UNIT)
            return (enum mass_unit)p->words[i].means;
    return UNIT_NONE;
}

bool encode_has_unit(const struct profile *p, enum mass_unit unit)
{
    if (unit == UNIT_NONE)
        return false;
    return has_field(p, FIELD_UNIT) ? find_word(p, FIELD_UNIT, (uint8_t)unit) != NULL : p->unit == unit;
}
