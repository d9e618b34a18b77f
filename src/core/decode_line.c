/* One whole line, field by field. */
#include <string.h>

#include "core/check_sum.h"
#include "core/decode.h"
#include "core/figure.h"

/* What the fields have said so far. */
struct found {
    struct span weight, ounces;
    const struct profile_field *weight_field, *ounces_field;
    const char *sum_from, *sum_to; /* sum_to NULL: up to the check sum */
    uint8_t state, basis, unit, places;
    uint8_t bytes_of_bits; /* passed so far */
    bool bad_number;       /* a figure that is not taken is none */
    char sign;             /* of a sign field: '+', '-', or ' ' for neither */
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* The word that fills the stretch, blanks around both aside; NULL if the table has none. */
static const struct profile_word *word_of(const struct profile *p, uint8_t kind, struct span s)
{
    s = span_trim(s);
    for (unsigned i = 0; i < p->word_count; i++) {
        const struct profile_word *w = &p->words[i];
        struct span text = {w->text, w->len};

        if (w->kind != kind || w->len < s.len)
            continue;
        text = span_trim(text);
        if (text.len == s.len && !memcmp(text.at, s.at, s.len))
            return w;
    }
    return NULL;
}

/* The longest word that the stretch begins with. */
static const struct profile_word *word_before(const struct profile *p, uint8_t kind, struct span s)
{
    const struct profile_word *best = NULL;

    for (unsigned i = 0; i < p->word_count; i++) {
        const struct profile_word *w = &p->words[i];

        if (w->kind == kind && w->len <= s.len && !memcmp(w->text, s.at, w->len) && (!best || w->len > best->len))
            best = w;
    }
    return best;
}

static bool no_weight(uint8_t state)
{
    return state > READING_MOVING;
}

/* What the profile's words and bits may stand for; a table that says anything else is not believed. */
static bool note(struct found *f, uint8_t kind, uint8_t means)
{
    switch (kind) {
    case FIELD_STATUS:
        f->state = means > f->state ? means : f->state;
        return means <= READING_NOTYET;
    case FIELD_BASIS:
        f->basis = means;
        return means <= BASIS_NET;
    case FIELD_SIGN:
        f->sign = means ? '-' : '+';
        return true;
    case FIELD_UNIT:
        f->unit = means;
        return means <= UNIT_GR;
    case FIELD_WEIGHT:
        f->places = means;
        return true;
    default:
        return false;
    }
}

static bool printable(struct span s)
{
    for (uint8_t i = 0; i < s.len; i++)
        if (s.at[i] < ' ' || s.at[i] > '~')
            return false;
    return true;
}

/* A unit without width: the letters that stand there, or a word of the table that no letter follows. */
static uint8_t unit_length(const struct profile_word *w, struct span rest)
{
    uint8_t n = 0;

    if (w && (w->len == rest.len || !is_letter(rest.at[w->len])))
        return w->len;
    while (n < rest.len && is_letter(rest.at[n]))
        n++;
    return n;
}

static bool take_word(const struct profile *p, const struct profile_field *field, struct span *rest, struct found *f)
{
    const struct profile_word *w;
    struct span s;
    uint8_t len = field->width;

    if (len == 0) {
        w = word_before(p, field->kind, *rest);
        len = w ? w->len : 0;
        if (field->kind == FIELD_UNIT)
            len = unit_length(w, *rest);
        if (len == 0 && !w)
            return false;
    }
    s = span_take(rest, len);
    w = word_of(p, field->kind, s);
    if (w)
        return note(f, w->kind, w->means);
    /* an unknown unit is a reading without a weight; any other unknown word could mean anything */
    f->unit = UNIT_NONE;
    return field->kind == FIELD_UNIT && printable(s);
}

/* The bytes of a weight without width: a status word in its place, or a figure. */
static uint8_t weight_length(const struct profile *p, struct span rest)
{
    uint8_t blanks = span_blanks(rest);
    const struct profile_word *w =
        word_before(p, FIELD_STATUS, (struct span){rest.at + blanks, (uint8_t)(rest.len - blanks)});

    if (w && w->len > 0 && no_weight(w->means))
        return (uint8_t)(blanks + w->len);
    return figure_length(p, rest);
}

static bool take_figure(const struct profile *p, const struct profile_field *field, struct span *rest, struct found *f)
{
    uint8_t width = field->width;
    struct figure other;
    struct span s;

    if (width == 0)
        width = field->kind == FIELD_WEIGHT ? weight_length(p, *rest) : figure_length(p, *rest);
    s = span_take(rest, width);
    if (field->kind == FIELD_WEIGHT) {
        f->weight = s;
        f->weight_field = field;
    } else if (field->kind == FIELD_OUNCES) {
        f->ounces = s;
        f->ounces_field = field;
    } else if (!figure_read(p, field, s, &other)) { /* another figure may be blank, but not rubbish */
        f->bad_number = f->bad_number || field->width == 0 || span_trim(s).len > 0;
    }
    return true;
}

static bool has_words(const struct profile *p, uint8_t kind)
{
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == kind)
            return true;
    return false;
}

static bool take_sign(const struct profile *p, const struct profile_field *field, struct span *rest, struct found *f)
{
    if (has_words(p, FIELD_SIGN))
        return take_word(p, field, rest, f);
    if (rest->len == 0)
        return false;
    f->sign = *span_take(rest, 1).at;
    return f->sign == '+' || f->sign == '-' || f->sign == ' ';
}

static bool take_bits(const struct profile *p, struct span *rest, struct found *f)
{
    uint8_t byte;

    if (!PROFILE_RAW || rest->len == 0)
        return false;
    byte = (uint8_t)*span_take(rest, 1).at;
    for (unsigned i = 0; i < p->bit_count; i++) {
        const struct profile_bit *b = &p->named[i];
        bool is = (byte & b->mask) == b->value;

        if (b->byte != f->bytes_of_bits)
            continue;
        if (b->kind == FIELD_LITERAL ? !is : is && !note(f, b->kind, b->means))
            return false;
    }
    f->bytes_of_bits++;
    return true;
}

static bool take_check(const struct profile *p, struct span *rest, const struct found *f)
{
    const char *to = f->sum_to ? f->sum_to : rest->at;
    uint8_t width = check_width(&p->check);

    if (!PROFILE_RAW || width == 0 || width > rest->len || to <= f->sum_from)
        return false;
    return check_says(&p->check, check_sum(&p->check, f->sum_from, (uint8_t)(to - f->sum_from)),
                      span_take(rest, width).at);
}

static bool take_field(const struct profile *p, const struct profile_field *field, struct span *rest, struct found *f)
{
    uint8_t width = field->kind == FIELD_LITERAL ? field->len : field->width;

    if (width > rest->len)
        return false;
    switch (field->kind) {
    case FIELD_LITERAL:
        return width <= PROFILE_WORD && !memcmp(span_take(rest, width).at, field->text, width);
    case FIELD_SKIP:
        span_take(rest, width);
        return true;
    case FIELD_SIGN:
        return take_sign(p, field, rest, f);
    case FIELD_WEIGHT:
    case FIELD_OUNCES:
    case FIELD_NUMBER:
        return take_figure(p, field, rest, f);
    case FIELD_BLANKS:
        if (width == 0)
            width = span_blanks(*rest);
        return span_blanks(span_take(rest, width)) == width;
    case FIELD_STATUS:
    case FIELD_BASIS:
    case FIELD_UNIT:
        return take_word(p, field, rest, f);
    case FIELD_BITS:
        return take_bits(p, rest, f);
    case FIELD_OPEN:
        f->sum_from = rest->at;
        return true;
    case FIELD_CLOSE:
        f->sum_to = rest->at;
        return true;
    case FIELD_CHECK:
        return take_check(p, rest, f);
    default:
        return false;
    }
}

/* Whole pounds and less than a pound of ounces, as ounces. An ounce has three places at most: below, more is refused. */
static bool add_ounces(const struct profile *p, struct found *f, struct figure *w)
{
    struct figure ounces;
    uint64_t pound = 16;

    if (f->unit != UNIT_LB || w->places != 0 || !figure_read(p, f->ounces_field, f->ounces, &ounces) ||
        ounces.sign != ' ' || ounces.places > 3)
        return false;
    for (uint8_t i = 0; i < ounces.places; i++)
        pound *= 10;
    if (ounces.value >= pound || w->value > UINT32_MAX)
        return false;
    w->value = w->value * pound + ounces.value;
    w->places = ounces.places;
    f->unit = UNIT_OZ;
    return true;
}

/* The weight in its unit; false if it is not a number or can't be held exactly. */
static bool weigh(const struct profile *p, struct found *f, struct reading *out)
{
    struct figure w;

    if (!f->weight_field || !figure_read(p, f->weight_field, f->weight, &w))
        return false;
    if (w.sign != ' ' && f->sign != ' ')
        return false; /* two signs */
    if (p->implied == PLACES_IN_BITS)
        w.places = f->places;
    if (w.places == PLACES_IN_BITS || (f->ounces_field && !add_ounces(p, f, &w)))
        return false;
    out->step = unit_pg((enum mass_unit)f->unit); /* 0 if it is not known: the state will say so */
    for (uint8_t i = 0; i < w.places; i++) {
        if (out->step % 10)
            return false;
        out->step /= 10;
    }
    if (out->step > 0 && w.value > (uint64_t)(INT64_MAX / out->step))
        return false;
    out->places = w.places;
    out->mass = (mass_pg)w.value * out->step;
    if (w.sign == '-' || f->sign == '-')
        out->mass = -out->mass;
    return true;
}

/* A line of another shape, that says by all of it that there is no weight. */
static bool is_whole_line(const struct profile *p, struct span s, struct reading *out)
{
    const struct profile_word *w = word_of(p, FIELD_LINE, s);

    if (!w || !no_weight(w->means) || w->means > READING_NOTYET)
        return false;
    *out = (struct reading){.state = w->means, .basis = p->basis, .unit = p->unit};
    return true;
}

enum decode_result decode_line(const struct profile *p, const char *line, uint8_t len, struct reading *out)
{
    struct found f = {.sum_from = line, .basis = p->basis, .unit = p->unit, .places = PLACES_IN_BITS, .sign = ' '};
    struct span rest = {line, len};
    struct reading r = {0};
    const struct profile_word *w;

    if (is_whole_line(p, rest, out))
        return DECODE_READING;
    for (unsigned i = 0; i < p->field_count; i++)
        if (!take_field(p, &p->fields[i], &rest, &f))
            return DECODE_BAD_LINE;
    if (rest.len > 0)
        return DECODE_BAD_LINE;
    w = f.weight_field ? word_of(p, FIELD_STATUS, f.weight) : NULL;
    if (w && no_weight(w->means) && !note(&f, w->kind, w->means))
        return DECODE_BAD_LINE;
    r.state = f.state;
    if (!no_weight(f.state)) {
        if (f.bad_number || !weigh(p, &f, &r))
            return DECODE_BAD_LINE;
        if (f.unit == UNIT_NONE)
            r.state = READING_UNIT;
    }
    r.basis = f.basis;
    r.unit = f.unit;
    *out = r;
    return DECODE_READING;
}
