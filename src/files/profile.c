/* Scale profile file into struct profile. */
#include <string.h>

#include "core/check_sum.h"
#include "files/profile_raw.h"

static const struct ini_section *section_of(const struct ini *doc, const char *kind)
{
    for (unsigned i = 0; i < doc->section_count; i++)
        if (!strcmp(doc->sections[i].kind, kind))
            return &doc->sections[i];
    return NULL;
}

static const struct section_kind *kind_of(const char *name)
{
    for (unsigned i = 0; i < scale_kind.section_count; i++)
        if (!strcmp(scale_kind.sections[i].name, name))
            return &scale_kind.sections[i];
    return NULL;
}

/* The places of choices in their lists of words are the values of core's enums: the lists stand in that order. */
static void scale_out(const struct raw_scale *raw, struct profile *out)
{
    memcpy(out->name, raw->name, sizeof out->name);
    out->baud = raw->baud;
    out->bits = raw->bits;
    out->stop = raw->stop;
    out->parity = raw->parity;
    out->flow = raw->flow;
    out->sends = raw->sends;
    out->request = raw->request;
    out->tare = raw->tare;
    out->zero = raw->zero;
    out->period_ms = raw->period;
    out->timeout_ms = raw->timeout;
    out->silent_ms = raw->silent;
    out->decimal = raw->decimal ? ',' : '.';
    out->implied = raw->implied;
    out->unit = raw->unit; /* "line" stands where UNIT_NONE does */
    out->basis = raw->basis;
    out->units = raw->units;
    out->minus = raw->minus;
    out->zeros = raw->fill == 1;
    out->length = raw->length;
    if (!raw->end.len && !raw->length) { /* the usual one */
        memcpy(out->end, "\r\n", 2);
        out->end_len = 2;
        return;
    }
    out->end_len = raw->end.len <= sizeof out->end ? raw->end.len : 0;
    memcpy(out->end, raw->end.bytes, out->end_len);
}

static void read_check(const struct ini *doc, struct profile *out)
{
    static const uint8_t bits[] = {7, 8, 16};
    struct raw_check raw = {.bits = 1};
    const struct ini_section *s = section_of(doc, "check");
    if (!s)
        return;
    table_fill(kind_of("check"), doc, s, NULL, &raw);
    out->check = (struct profile_check){
        .method = (uint8_t)(raw.method + SUM_PLAIN),
        .bits = bits[raw.bits],
        .negated = raw.negated,
        .raw = raw.as == 1,
        .low_first = raw.order == 1,
    };
}

/* The pattern has a grammar of its own, so its fault names the field that may be meant. */
static void read_shape(const struct ini *doc, const struct ini_section *s, struct profile *out)
{
    struct raw_line raw = {0};
    const char *near = NULL;
    table_fill(kind_of("line"), doc, s, NULL, &raw);
    const char *wrong = raw.shape ? shape_take(raw.shape, out, &near) : NULL;
    if (!wrong)
        return;
    char expected[300];
    value_expected(&kind_of("line")->keys[0], expected, sizeof expected);
    if (near)
        faults_add(doc->faults, doc->path, ini_line(doc, s, "shape"), "shape = %s: %s; nearest known field: %s",
                   raw.shape, wrong, near);
    else
        table_fault(doc, s, "shape", wrong, expected);
}

/* A word list's meaning stands in its key's row. */
static void read_words(const struct ini *doc, const char *section, enum field_kind field, struct profile *out)
{
    struct raw_words raw = {{NULL}};
    const struct ini_section *s = section_of(doc, section);
    if (!s)
        return;
    const struct section_kind *kind = kind_of(section);
    table_fill(kind, doc, s, NULL, &raw);
    for (unsigned i = 0; i < kind->key_count; i++) {
        const struct key *k = &kind->keys[i];
        const char *wrong = NULL;
        if (raw.list[i])
            wrong = field == FIELD_BITS ? bits_take(raw.list[i], (enum field_kind)k->high, (uint8_t)k->low, out)
                                        : words_take(raw.list[i], field, (uint8_t)k->low, out);
        if (wrong)
            table_fault(doc, s, k->name, wrong, k->form);
    }
}

/* What the fields take from elsewhere: a check sum's width, decimals told by bits. */
static void complete(struct profile *out)
{
    for (unsigned i = 0; i < out->field_count; i++)
        if (out->fields[i].kind == FIELD_CHECK)
            out->fields[i].width = check_width(&out->check);
    for (unsigned i = 0; i < out->bit_count; i++)
        if (out->named[i].kind == FIELD_WEIGHT)
            out->implied = PLACES_IN_BITS;
}

static bool word_for(const struct profile *p, uint8_t means)
{
    for (unsigned i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == FIELD_STATUS && p->named[i].means == means)
            return true;
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == FIELD_STATUS && p->words[i].means == means)
            return true;
    return false;
}

/* The one section that says what comes; NULL, and a fault, if there is none or another one too. whole: nothing unreadable
 * stands in the file that might have been it. */
static const struct ini_section *form_of(const struct ini *doc, bool whole, struct profile *out)
{
    static const char *const names[] = {
        [FORM_LINES] = "line", [FORM_REPORTS] = "reports", [FORM_REGISTERS] = "registers"};
    const struct ini_section *found = NULL;
    for (unsigned i = 0; i < sizeof names / sizeof *names; i++) {
        const struct ini_section *s = section_of(doc, names[i]);
        if (s && found) {
            faults_add(doc->faults, doc->path, s->line, "[%s] beside [%s]; expected one of them", s->kind, found->kind);
            return NULL;
        }
        if (s) {
            found = s;
            out->form = (uint8_t)i;
        }
    }
    if (!found && whole)
        faults_add(doc->faults, doc->path, 0,
                   "no [line] section; expected one, or [reports] or [registers], in a scale file");
    return found;
}

bool profile_read(const struct file_text *text, struct profile *out, struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    struct raw_scale raw;
    memset(out, 0, sizeof *out);
    memset(&raw, 0, sizeof raw);
    ini_read(&doc, text, f);
    bool whole = table_sections(&scale_kind, &doc);
    const struct ini_section *scale = section_of(&doc, "scale");
    const struct ini_section *line = form_of(&doc, whole, out);
    if (!scale || !line)
        return false;
    table_fill(kind_of("scale"), &doc, scale, NULL, &raw);
    scale_out(&raw, out);
    if (out->form == FORM_LINES)
        read_shape(&doc, line, out);
    read_words(&doc, "status", FIELD_STATUS, out);
    read_words(&doc, "basis", FIELD_BASIS, out);
    read_words(&doc, "unit", FIELD_UNIT, out);
    read_words(&doc, "sign", FIELD_SIGN, out);
    read_words(&doc, "lines", FIELD_LINE, out);
    read_words(&doc, "bits", FIELD_BITS, out);
    read_check(&doc, out);
    complete(out);
    out->has_motion = word_for(out, READING_STABLE) && word_for(out, READING_MOVING);
    if (out->form != FORM_LINES) {
        profile_block(&doc, &raw, out, scale, line);
        return f->count == before;
    }
    if (f->count == before) /* else half of what follows would be said twice */
        profile_cross(&doc, &raw, out, scale, line);
    if (f->count == before)
        profile_ambiguous(&doc, out, line);
    return f->count == before;
}
