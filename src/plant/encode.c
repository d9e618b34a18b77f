/* Encode: see encode.h. The way back of core's decode, by the same profile; what the profile can't say is not sent. */
#include "plant/encode.h"

#include <string.h>

#include "core/check_sum.h"

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

/* The digits of so many steps, without sign, in the profile's manner. 0 if they can't be shown. */
static size_t digits_of(const struct profile *p, uint64_t steps, uint8_t places, char text[MASS_TEXT_MAX])
{
    char back[MASS_TEXT_MAX] = {0};
    size_t n = 0, len = 0;
    bool point = p->implied == 0 && places > 0;
    if (p->implied && p->implied != PLACES_IN_BITS) {
        if (places > p->implied)
            return 0;
        for (; places < p->implied; places++) {
            if (steps > UINT64_MAX / 10)
                return 0;
            steps *= 10;
        }
    }
    while (n <= (point ? places : 0) || steps) {
        if (point && n == places)
            back[len++] = p->decimal;
        back[len++] = (char)('0' + steps % 10);
        steps /= 10;
        n++;
    }
    for (size_t i = 0; i < len; i++)
        text[i] = back[len - 1 - i];
    return len;
}

static bool said_by_bits(const struct profile *p, uint8_t state)
{
    for (uint8_t i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == FIELD_STATUS && p->named[i].means == state)
            return true;
    return false;
}

/* A state without a weight is said by bits, in the status field, or in the figure's place where its word is too long. */
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
    if ((w && !said_by_status(p, w)) || (!w && said_by_bits(p, state)))
        w = state_word(p, READING_STABLE);
    return put_word(l, f, w);
}

/* The bytes of a figure in their order: packed, the lowest digit first. */
static bool put_folded(struct line *l, const struct profile_field *f, const char *text, uint8_t n)
{
    char bytes[PROFILE_LINE_MAX];
    bool packed = f->digits & FIGURE_PACKED;
    if (n != (packed ? 2 * f->width : f->width))
        return false;
    for (uint8_t i = 0; i < f->width; i++) {
        unsigned high = (unsigned char)text[packed ? 2 * i : i], low = packed ? (unsigned)(text[2 * i + 1] - '0') : 0u;
        char byte = (char)(packed ? (high - '0') << 4 | low : high);
        bytes[f->digits & FIGURE_REVERSED ? f->width - 1 - i : i] = byte;
    }
    put(l, bytes, f->width);
    return true;
}

/* The figure in the field's width: filled up before it, its sign in its place. */
static bool put_figure(struct line *to, const struct profile *p, const struct profile_field *f, const char *text,
                       size_t n, bool minus)
{
    char buf[PROFILE_LINE_MAX];
    struct line l = {.buf = buf};
    bool packed = f->digits & FIGURE_PACKED, filled = p->zeros || packed;
    size_t width = packed ? 2u * f->width : f->width, behind = p->minus == MINUS_BEFORE ? 0 : width ? 1 : minus;
    size_t before = minus && p->minus != MINUS_AFTER, need = n + before + behind;
    if (packed && minus)
        return false;
    if (width && need > width)
        return false;
    size_t room = width ? width - need : 0;
    put_repeated(&l, ' ', filled ? 0 : room);
    if (before)
        put(&l, p->minus == MINUS_BRACKETS ? "(" : "-", 1);
    put_repeated(&l, '0', filled ? room : 0);
    put(&l, text, n);
    if (behind)
        put(&l, !minus ? " " : p->minus == MINUS_BRACKETS ? ")" : "-", 1);
    if (l.full)
        return false;
    if (f->digits)
        return put_folded(to, f, buf, l.len);
    put(to, buf, l.len);
    return true;
}

/* Whatever stands there says nothing: blanks, or noughts where it can be only digits. */
static bool put_nothing(struct line *l, const struct profile *p, const struct profile_field *f)
{
    if (f->digits & FIGURE_PACKED || p->zeros)
        return put_figure(l, p, f, "0", 1, false);
    put_repeated(l, f->width ? ' ' : '-', f->width ? f->width : 5);
    return true;
}

static bool put_no_weight(struct line *l, const struct profile *p, const struct profile_field *f, uint8_t state)
{
    const struct profile_word *w = state_word(p, state);
    if (!w || said_by_status(p, w))
        return put_nothing(l, p, f);
    if (f->width && w->len > f->width)
        return false;
    put_repeated(l, ' ', f->width ? (size_t)(f->width - w->len) : 0);
    put(l, w->text, w->len);
    return true;
}

/* The sign stands with the figure, unless a field or a bit says it. */
static bool own_sign(const struct profile *p)
{
    for (uint8_t i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == FIELD_SIGN)
            return false;
    return !has_field(p, FIELD_SIGN);
}

/* The weight; beside ounces its whole pounds, and then the ounces. Another figure of the line is nought. */
static bool put_weight(struct line *l, const struct profile *p, const struct profile_field *f, const struct reading *r)
{
    char text[MASS_TEXT_MAX];
    if (!reading_has_weight(r))
        return f->kind == FIELD_WEIGHT ? put_no_weight(l, p, f, r->state) : put_nothing(l, p, f);
    mass_pg step = unit_pg((enum mass_unit)r->unit);
    uint64_t pound = 16;
    uint8_t places = r->places;
    for (uint8_t i = 0; i < places; i++) {
        step /= 10;
        pound *= 10;
    }
    uint64_t steps = step > 0 && f->kind != FIELD_NUMBER ? (uint64_t)((r->mass < 0 ? -r->mass : r->mass) / step) : 0;
    if (has_field(p, FIELD_OUNCES) && f->kind == FIELD_WEIGHT) {
        steps /= pound;
        places = 0;
    } else if (f->kind == FIELD_OUNCES) {
        steps %= pound;
    }
    size_t n = digits_of(p, steps, places, text);
    return n && put_figure(l, p, f, text, n, f->kind == FIELD_WEIGHT && r->mass < 0 && own_sign(p));
}

static bool bit_means(const struct profile_bit *b, const struct reading *r)
{
    switch (b->kind) {
    case FIELD_LITERAL:
        return true;
    case FIELD_STATUS:
        return b->means == r->state;
    case FIELD_BASIS:
        return b->means == r->basis;
    case FIELD_UNIT:
        return b->means == r->unit;
    case FIELD_SIGN:
        return b->means == (reading_has_weight(r) && r->mass < 0);
    default:
        return b->means == r->places;
    }
}

static bool put_bits(struct line *l, const struct profile *p, const struct profile_field *f, const struct reading *r)
{
    uint8_t byte = 0;
    unsigned number = 0;
    for (const struct profile_field *k = p->fields; k < f; k++)
        number += k->kind == FIELD_BITS;
    for (uint8_t i = 0; i < p->bit_count; i++)
        if (p->named[i].byte == number && bit_means(&p->named[i], r))
            byte = (uint8_t)((byte & ~p->named[i].mask) | p->named[i].value);
    put(l, (const char *)&byte, 1);
    return true;
}

static bool put_sign(struct line *l, const struct profile *p, const struct profile_field *f, const struct reading *r)
{
    const struct profile_word *w = find_word(p, FIELD_SIGN, reading_has_weight(r) && r->mass < 0);
    if (w)
        return put_word(l, f, w);
    put(l, !reading_has_weight(r) ? " " : r->mass < 0 ? "-" : "+", 1);
    return true;
}

/* Over what stands between the brackets, or before it. */
static bool put_check(struct line *l, const struct profile *p, uint8_t from, uint8_t to)
{
    char text[CHECK_TEXT];
    check_write(&p->check, check_sum(&p->check, l->buf + from, (uint8_t)(to - from)), text);
    put(l, text, check_width(&p->check));
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
        return put_sign(l, p, f, r);
    case FIELD_WEIGHT:
    case FIELD_OUNCES:
    case FIELD_NUMBER:
        return put_weight(l, p, f, r);
    case FIELD_BITS:
        return put_bits(l, p, f, r);
    default:
        return false;
    }
}

static bool put_fields(struct line *l, const struct profile *p, const struct reading *r)
{
    uint8_t from = 0, to = 0;
    for (uint8_t i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];
        bool good = true;
        if (f->kind == FIELD_OPEN)
            from = l->len;
        else if (f->kind == FIELD_CLOSE)
            to = l->len;
        else if (f->kind == FIELD_CHECK)
            good = put_check(l, p, from, to ? to : l->len);
        else
            good = put_field(l, p, f, r);
        if (!good)
            return false;
    }
    return true;
}

/* A state that has a line of its own is said by it. */
static const struct profile_word *whole_line(const struct profile *p, const struct reading *r)
{
    return reading_has_weight(r) ? NULL : find_word(p, FIELD_LINE, r->state);
}

uint8_t encode_line(const struct profile *p, const struct reading *r, char buf[PROFILE_LINE_MAX])
{
    struct line l = {.buf = buf};
    struct reading said = *r;
    const struct profile_word *whole;
    /* A scale that has no word for warming up calls it a fault. */
    if (said.state == READING_NOTYET && !state_word(p, said.state) && !said_by_bits(p, said.state) &&
        !find_word(p, FIELD_LINE, said.state))
        said.state = READING_FAULT;
    whole = whole_line(p, &said);
    /* Without a word for it, a scale that shows no weight sends nothing. */
    if (!reading_has_weight(&said) && !whole && !state_word(p, said.state) && !said_by_bits(p, said.state))
        return 0;
    if (!encode_has_unit(p, (enum mass_unit)r->unit))
        return 0;
    if (whole)
        put(&l, whole->text, whole->len);
    else if (!put_fields(&l, p, &said))
        return 0;
    put(&l, p->end, p->end_len);
    return l.full || (p->length && l.len != p->length) ? 0 : l.len;
}

static enum mass_unit first_unit(const struct profile *p)
{
    for (uint8_t i = 0; i < p->word_count; i++)
        if (p->words[i].kind == FIELD_UNIT)
            return (enum mass_unit)p->words[i].means;
    for (uint8_t i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == FIELD_UNIT)
            return (enum mass_unit)p->named[i].means;
    return UNIT_NONE;
}

enum mass_unit encode_unit(const struct profile *p)
{
    if (has_field(p, FIELD_OUNCES)) /* pounds and ounces together count as ounces */
        return UNIT_OZ;
    return p->unit != UNIT_NONE ? (enum mass_unit)p->unit : first_unit(p);
}

bool encode_has_unit(const struct profile *p, enum mass_unit unit)
{
    if (unit == UNIT_NONE)
        return false;
    if (has_field(p, FIELD_OUNCES))
        return unit == UNIT_OZ;
    if (first_unit(p) == UNIT_NONE)
        return p->unit == unit;
    if (find_word(p, FIELD_UNIT, (uint8_t)unit))
        return true;
    for (uint8_t i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == FIELD_UNIT && p->named[i].means == unit)
            return true;
    return false;
}
