/* The parts of a scale profile against each other. */
#include <string.h>

#include "files/profile_raw.h"

struct cross {
    const struct ini *doc;
    const struct raw_scale *raw;
    const struct profile *p;
    const struct ini_section *scale, *line;
};

static void scale_fault(const struct cross *c, const char *key, const char *what)
{
    faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->scale, key), "%s", what);
}

static void line_fault(const struct cross *c, const char *what)
{
    faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->line, "shape"), "%s", what);
}

static unsigned count_fields(const struct profile *p, enum field_kind kind)
{
    unsigned n = 0;
    for (unsigned i = 0; i < p->field_count; i++)
        n += p->fields[i].kind == kind;
    return n;
}

static unsigned count_words(const struct profile *p, enum field_kind kind)
{
    unsigned n = 0;
    for (unsigned i = 0; i < p->word_count; i++)
        n += p->words[i].kind == kind;
    return n;
}

/* A scale that is called silent before its next line is due would never be heard. */
static void check_timing(const struct cross *c)
{
    const struct raw_scale *r = c->raw;
    bool polled = r->sends == SENDS_POLLED;
    if (polled && !r->request.len)
        scale_fault(c, "sends", "sends = polled without \"request\"; expected the bytes that ask for a line");
    if (!polled && r->request.len)
        scale_fault(c, "request",
                    "\"request\" for a scale that sends by itself; expected it left out, or sends = polled");
    if (r->silent <= r->period || (polled && r->silent <= r->timeout))
        scale_fault(c, "silent", "\"silent\" is not longer than \"period\" and \"timeout\"; expected a longer time");
    if (r->end.len > 2)
        scale_fault(c, "end", "a line's end of more than 2 bytes; expected 1 or 2, such as \\r\\n");
}

/* Several status fields are taken (the graver word counts); of all others one, or which is meant would be a guess. */
static void check_fields(const struct cross *c)
{
    const struct profile *p = c->p;
    static const struct {
        enum field_kind kind;
        const char *name;
    } once[] = {{FIELD_WEIGHT, "weight"}, {FIELD_STATUS, "status"}, {FIELD_BASIS, "basis"},
                {FIELD_UNIT, "unit"},     {FIELD_SIGN, "sign"},     {FIELD_OUNCES, "ounces"},
                {FIELD_CHECK, "check"},   {FIELD_OPEN, "("},        {FIELD_CLOSE, ")"}};
    for (unsigned i = 0; i < sizeof once / sizeof *once; i++)
        if (once[i].kind != FIELD_STATUS && count_fields(p, once[i].kind) > 1)
            faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->line, "shape"),
                       "the shape has the field \"%s\" twice; expected it once", once[i].name);
    if (!count_fields(p, FIELD_WEIGHT))
        line_fault(c, "the shape has no weight; expected a field \"weight\"");
}

static unsigned count_bits(const struct profile *p, enum field_kind kind)
{
    unsigned n = 0;
    for (unsigned i = 0; i < p->bit_count; i++)
        n += p->named[i].kind == kind;
    return n;
}

/* What one line says in two places could contradict itself. */
static void check_bits(const struct cross *c)
{
    static const struct {
        enum field_kind kind;
        const char *name;
    } kinds[] = {{FIELD_BASIS, "basis"}, {FIELD_UNIT, "unit"}};
    for (unsigned i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (count_bits(c->p, kinds[i].kind) && count_fields(c->p, kinds[i].kind))
            faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->line, "shape"),
                       "both a field \"%s\" and bits say it; expected one of them", kinds[i].name);
    if (count_bits(c->p, FIELD_WEIGHT) && c->raw->implied)
        scale_fault(c, "implied", "the decimals are told by bits; expected \"implied\" left out");
    if (count_bits(c->p, FIELD_BASIS) && c->raw->basis)
        scale_fault(c, "basis", "the line tells gross from net by its bits; expected basis = unknown");
}

/* The unit is in the line or fixed, and must be known from one of them. */
static void check_unit(const struct cross *c)
{
    bool field = count_fields(c->p, FIELD_UNIT) > 0;
    bool in_line = field || count_bits(c->p, FIELD_UNIT) > 0;
    bool words = count_words(c->p, FIELD_UNIT) > 0;
    if (!in_line && c->raw->unit == 0)
        scale_fault(c, "unit", "the line has no unit; expected the scale's fixed unit here, such as unit = g");
    if (in_line && c->raw->unit != 0)
        scale_fault(c, "unit", "the line has a unit field of its own; expected unit = line");
    if (field && !words)
        line_fault(c, "the shape has a unit field, but no word for a unit is known; expected a [unit] section");
    if (!in_line && words)
        line_fault(c, "there are unit words, but the shape has no unit field; expected one, or no [unit] section");
}

/* A command after which the line would not mean what the profile says. A gross figure that is one of several stays gross. */
static void check_commands(const struct cross *c)
{
    const struct profile *p = c->p;
    if (p->tare.len && p->basis == BASIS_GROSS && !count_fields(p, FIELD_NUMBER))
        scale_fault(c, "tare",
                    "a line that is always gross can't show that the scale was tared; expected no tare here");
    if (p->units.len && !count_fields(p, FIELD_UNIT) && !count_bits(p, FIELD_UNIT))
        scale_fault(c, "units", "a line without its unit can't show that it was switched; expected no units here");
}

/* Status words without a status field: those that may stand in the weight's place are enough. */
static void check_words(const struct cross *c)
{
    const struct profile *p = c->p;
    bool status = count_fields(p, FIELD_STATUS) > 0;
    bool basis = count_fields(p, FIELD_BASIS) > 0;
    for (unsigned i = 0; i < p->word_count && !status; i++)
        if (p->words[i].kind == FIELD_STATUS && p->words[i].means <= READING_MOVING) {
            line_fault(
                c, "there are words for stable, moving or unknown, but the shape has no status field; expected one");
            break;
        }
    if (status && !count_words(p, FIELD_STATUS))
        line_fault(c, "the shape has a status field, but no word for it is known; expected a [status] section");
    if (basis && !count_words(p, FIELD_BASIS))
        line_fault(c, "the shape has a basis field, but no word for it is known; expected a [basis] section");
    if (!basis && count_words(p, FIELD_BASIS))
        line_fault(
            c, "there are gross or net words, but the shape has no basis field; expected one, or no [basis] section");
    if (basis && c->raw->basis)
        scale_fault(c, "basis", "the line has a basis field of its own; expected basis = unknown");
}

/* A word longer than every field that may hold it could never be seen. */
static void check_widths(const struct cross *c)
{
    const struct profile *p = c->p;
    for (unsigned w = 0; w < p->word_count; w++) {
        bool fits = false;
        bool any = false; /* no field at all for it: already said */
        for (unsigned i = 0; i < p->field_count; i++) {
            const struct profile_field *field = &p->fields[i];
            bool in_weight = p->words[w].kind == FIELD_STATUS && p->words[w].means > READING_MOVING;
            bool holds = field->kind == p->words[w].kind || (field->kind == FIELD_WEIGHT && in_weight);
            any = any || holds;
            fits = fits || (holds && (!field->width || field->width >= p->words[w].len));
        }
        if (any && !fits)
            faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->line, "shape"),
                       "the word \"%.*s\" is longer than its field; expected a wider field", p->words[w].len,
                       p->words[w].text);
    }
}

/* The line has room, and comes down the wire before the next one is due. */
static void check_length(const struct cross *c)
{
    const struct profile *p = c->p;
    unsigned length = p->end_len;
    for (unsigned i = 0; i < p->field_count; i++) {
        const struct profile_field *field = &p->fields[i];
        length += field->kind == FIELD_LITERAL                 ? field->len
                  : field->kind == FIELD_SIGN && !field->width ? 1
                                                               : field->width;
    }
    if (length > PROFILE_LINE_MAX)
        faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->line, "shape"),
                   "a line of %u bytes with its end; expected at most %d", length, PROFILE_LINE_MAX);
    unsigned bits =
        1u + p->bits + (p->parity != PARITY_NONE) + p->stop; /* a start bit, and the rest of a byte's frame */
    unsigned ms = length * bits * 1000 / p->baud;
    if (ms > p->period_ms)
        faults_add(c->doc->faults, c->doc->path, ini_line(c->doc, c->scale, "period"),
                   "a line takes %u ms at %u baud, longer than the period; expected a longer period or a faster line",
                   ms, p->baud);
}

void profile_cross(const struct ini *doc, const struct raw_scale *raw, const struct profile *p,
                   const struct ini_section *scale, const struct ini_section *line)
{
    struct cross c = {doc, raw, p, scale, line};
    check_timing(&c);
    check_fields(&c);
    check_bits(&c);
    check_unit(&c);
    check_commands(&c);
    check_words(&c);
    check_widths(&c);
    check_length(&c);
}
