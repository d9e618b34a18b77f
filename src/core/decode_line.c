/* One whole line, field by field. */
#include <string.h>

#include "core/decode.h"

/* A stretch of the line. */
struct span {
    const char *at;
    uint8_t len;
};

/* What the fields have said so far. */
struct found {
    struct span weight;
    uint8_t state, basis, unit;
    bool has_weight;
    char sign; /* of a sign field: '+', '-', or ' ' for neither */
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static struct span trim(struct span s)
{
    while (s.len > 0 && is_blank(s.at[0]))
        s = (struct span){s.at + 1, (uint8_t)(s.len - 1)};
    while (s.len > 0 && is_blank(s.at[s.len - 1]))
        s.len--;
    return s;
}

/* The first n bytes of rest, which loses them. The caller knows that they are there. */
static struct span take(struct span *rest, uint8_t n)
{
    struct span s = {rest->at, n};

    rest->at += n;
    rest->len = (uint8_t)(rest->len - n);
    return s;
}

static uint8_t count_blanks(struct span s)
{
    uint8_t n = 0;

    while (n < s.len && is_blank(s.at[n]))
        n++;
    return n;
}

/* The word that fills the stretch, blanks around both aside; NULL if the table has none. */
static const struct profile_word *word_of(const struct profile *p, uint8_t kind, struct span s)
{
    s = trim(s);
    for (unsigned i = 0; i < p->word_count; i++) {
        const struct profile_word *w = &p->words[i];
        struct span text = trim((struct span){w->text, w->len});

        if (w->kind == kind && text.len == s.len && !memcmp(text.at, s.at, s.len))
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

/* What the profile's words may stand for; a table that says anything else is not believed. Of several status words the graver
 * one counts: enum reading_state is in that order. */
static bool note_word(struct found *f, const struct profile_word *w)
{
    if (w->kind == FIELD_STATUS && w->means <= READING_UNIT) {
        f->state = w->means > f->state ? w->means : f->state;
        return true;
    }
    if (w->kind == FIELD_BASIS && w->means <= BASIS_NET) {
        f->basis = w->means;
        return true;
    }
    f->unit = w->means;
    return w->kind == FIELD_UNIT && w->means <= UNIT_GR;
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
    s = take(rest, len);
    w = word_of(p, field->kind, s);
    if (w)
        return note_word(f, w);
    f->unit = UNIT_NONE;
    return field->kind == FIELD_UNIT && printable(s);
}

/* The bytes of a weight without width: blanks, then a status word or all that a number (or a row of dashes) is made of. */
static uint8_t weight_length(const struct profile *p, struct span rest)
{
    uint8_t blanks = count_blanks(rest), n = blanks;
    const struct profile_word *w = word_before(p, FIELD_STATUS, (struct span){rest.at + n, (uint8_t)(rest.len - n)});
    bool digits = false;

    if (w && w->len > 0 && no_weight(w->means))
        return (uint8_t)(n + w->len);
    for (; n < rest.len; n++) {
        char c = rest.at[n];
        bool before_digits = is_blank(c) || c == '+' || c == '-';

        if (before_digits ? digits : !is_digit(c) && c != '.' && c != ',')
            break;
        digits = digits || is_digit(c);
    }
    while (n > blanks && is_blank(rest.at[n - 1])) /* blanks behind it belong to the next field */
        n--;
    return n;
}

static bool take_field(const struct profile *p, const struct profile_field *field, struct span *rest, struct found *f)
{
    uint8_t width = field->kind == FIELD_LITERAL ? field->len : field->kind == FIELD_SIGN ? 1 : field->width;

    if (width > rest->len)
        return false;
    switch (field->kind) {
    case FIELD_LITERAL:
        return width <= PROFILE_WORD && !memcmp(take(rest, width).at, field->text, width);
    case FIELD_SKIP:
        take(rest, width);
        return true;
    case FIELD_SIGN:
        f->sign = *take(rest, 1).at;
        return f->sign == '+' || f->sign == '-' || f->sign == ' ';
    case FIELD_WEIGHT:
        f->weight = take(rest, width ? width : weight_length(p, *rest));
        f->has_weight = true;
        return true;
    case FIELD_BLANKS:
        if (width == 0)
            width = count_blanks(*rest);
        return count_blanks(take(rest, width)) == width;
    case FIELD_STATUS:
    case FIELD_BASIS:
    case FIELD_UNIT:
        return take_word(p, field, rest, f);
    default:
        return false;
    }
}

/* Digits with at most one decimal sign: their value without it, and how many stand behind it. */
static bool read_number(const struct profile *p, struct span s, uint64_t *value, uint8_t *places)
{
    uint64_t v = 0;
    uint8_t digits = 0, point = 0;

    for (uint8_t i = 0; i < s.len; i++) {
        if (s.at[i] == p->decimal && p->implied == 0 && point == 0) {
            point = (uint8_t)(i + 1);
            continue;
        }
        if (!is_digit(s.at[i]) || v > INT64_MAX / 10 - 1)
            return false;
        v = v * 10 + (uint64_t)(s.at[i] - '0');
        digits++;
    }
    *value = v;
    *places = point ? (uint8_t)(s.len - point) : p->implied;
    return digits > 0;
}

/* The weight in its unit; false if it is not a number or can't be held exactly. */
static bool weigh(const struct profile *p, const struct found *f, struct reading *out)
{
    struct span s = f->weight;
    char sign = f->sign;
    uint64_t value;
    uint8_t blanks = count_blanks(s);

    take(&s, blanks);
    if (s.len > 0 && (s.at[0] == '+' || s.at[0] == '-')) {
        if (sign == '+' || sign == '-')
            return false; /* two signs */
        sign = *take(&s, 1).at;
        take(&s, count_blanks(s));
    }
    if (!f->has_weight || !read_number(p, s, &value, &out->places))
        return false;
    out->step = unit_pg((enum mass_unit)f->unit); /* 0 if it is not known: the state will say so */
    for (uint8_t i = 0; i < out->places; i++) {
        if (out->step % 10)
            return false;
        out->step /= 10;
    }
    if (out->step > 0 && value > (uint64_t)(INT64_MAX / out->step))
        return false;
    out->mass = (mass_pg)value * out->step;
    if (sign == '-')
        out->mass = -out->mass;
    return true;
}

enum decode_result decode_line(const struct profile *p, const char *line, uint8_t len, struct reading *out)
{
    struct found f = {.basis = p->basis, .unit = p->unit, .sign = ' '};
    struct span rest = {line, len};
    struct reading r = {0};
    const struct profile_word *w;

    for (unsigned i = 0; i < p->field_count; i++)
        if (!take_field(p, &p->fields[i], &rest, &f))
            return DECODE_BAD_LINE;
    if (rest.len > 0)
        return DECODE_BAD_LINE;
    w = f.has_weight ? word_of(p, FIELD_STATUS, f.weight) : NULL;
    if (w && no_weight(w->means) && !note_word(&f, w))
        return DECODE_BAD_LINE;
    r.basis = f.basis;
    r.unit = f.unit;
    r.state = f.state;
    if (!no_weight(f.state)) {
        if (!weigh(p, &f, &r))
            return DECODE_BAD_LINE;
        if (r.unit == UNIT_NONE)
            r.state = READING_UNIT;
    }
    *out = r;
    return DECODE_READING;
}
