/* Bytes into lines. What a line says is decode_line.c's. */
#include <string.h>

#include "core/decode.h"
#include "core/decode_block.h"

void decoder_reset(struct decoder *d)
{
    *d = (struct decoder){.first = true};
}

/* A sign without words of its own is one byte. */
static bool one_byte_sign(const struct profile *p)
{
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == FIELD_SIGN)
            return false;
    return true;
}

uint8_t decode_line_length(const struct profile *p)
{
    unsigned n = 0;

    for (unsigned i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];
        uint8_t width = f->kind == FIELD_LITERAL ? f->len : f->kind == FIELD_SIGN && one_byte_sign(p) ? 1 : f->width;

        if (width == 0 && f->kind != FIELD_OPEN && f->kind != FIELD_CLOSE)
            return 0;
        n += width;
    }
    return n <= PROFILE_LINE_MAX ? (uint8_t)n : 0;
}

static bool at_end(const struct profile *p, const struct decoder *d)
{
    if (p->end_len == 0)
        return p->length > 0;
    return d->len >= p->end_len && d->line[d->len - 1] == p->end[p->end_len - 1] &&
           !memcmp(d->line + d->len - p->end_len, p->end, p->end_len);
}

/* A whole line stands in d->line, with its terminator. */
static enum decode_result take_line(const struct profile *p, struct decoder *d, uint64_t at, struct reading *out)
{
    enum decode_result result;
    uint8_t len = d->len;
    bool skip = d->dropping || (d->first && !decode_line_length(p));

    d->len = 0;
    d->first = d->dropping = false;
    if (skip)
        return DECODE_MORE;
    result = decode_line(p, d->line, (uint8_t)(len - p->end_len), out);
    if (result != DECODE_READING) {
        d->bad++;
        return result;
    }
    d->good++;
    d->usual = len;
    out->at = at;
    out->since = d->since;
    return DECODE_READING;
}

/* May a frame begin with these bytes? */
static bool may_begin(const struct profile *p, const char *at, uint8_t n)
{
    const struct profile_field *f = &p->fields[0];

    if (p->field_count == 0 || f->kind != FIELD_LITERAL || f->len > PROFILE_WORD)
        return true;
    return !memcmp(at, f->text, f->len < n ? f->len : n);
}

/* d->line holds as many bytes as a frame has. What is none loses its first byte, and more up to where one may begin: so the
 * first whole frame after any garbage is found. What is lost is said once for a length of it. */
static enum decode_result take_frame(const struct profile *p, struct decoder *d, uint64_t at, struct reading *out)
{
    uint8_t drop = 1;
    bool say;

    if (at_end(p, d) && decode_line(p, d->line, (uint8_t)(d->len - p->end_len), out) == DECODE_READING) {
        d->usual = d->len;
        d->len = d->lost = 0;
        d->good++;
        out->at = at;
        out->since = d->since;
        return DECODE_READING;
    }
    while (drop < d->len && !may_begin(p, d->line + drop, (uint8_t)(d->len - drop)))
        drop++;
    d->len = (uint8_t)(d->len - drop);
    memmove(d->line, d->line + drop, d->len);
    say = d->lost == 0;
    d->lost = d->lost + drop < p->length ? (uint8_t)(d->lost + drop) : 0;
    d->bad += say;
    return say ? DECODE_BAD_LINE : DECODE_MORE;
}

/* A length, then so many bytes; a length of 0 is nothing at all. */
static enum decode_result take_block(const struct profile *p, struct decoder *d, uint8_t byte, uint64_t at,
                                     uint64_t since, struct reading *out)
{
    enum decode_result result;

    if (d->dropping) {
        d->dropping = --d->lost > 0;
        return DECODE_MORE;
    }
    if (d->len == 0) {
        d->since = since;
        if (byte >= PROFILE_LINE_MAX) {
            d->dropping = true;
            d->lost = byte;
            d->bad++;
            return DECODE_TOO_LONG;
        }
        if (byte == 0)
            return DECODE_MORE;
    }
    d->line[d->len++] = (char)byte;
    if (d->len <= (uint8_t)d->line[0])
        return DECODE_MORE;
    result = decode_block(p, (const uint8_t *)d->line + 1, (uint8_t)(d->len - 1), out);
    d->len = 0;
    d->good += result == DECODE_READING;
    d->bad += result == DECODE_BAD_LINE;
    out->at = at;
    out->since = d->since;
    return result;
}

enum decode_result decode_byte(const struct profile *p, struct decoder *d, uint8_t byte, uint64_t at, uint64_t since,
                               struct reading *out)
{
    if (PROFILE_BLOCKS && p->form != FORM_LINES)
        return take_block(p, d, byte, at, since, out);
    if (d->dropping) { /* all that matters of it is where it ends */
        d->line[0] = d->line[d->len - 1];
        d->len = 1;
    }
    if (d->len == 0)
        d->since = since;
    d->line[d->len++] = (char)byte;
    if (PROFILE_RAW && p->length > 0 && p->length <= PROFILE_LINE_MAX)
        return d->len >= p->length ? take_frame(p, d, at, out) : DECODE_MORE;
    if (at_end(p, d))
        return take_line(p, d, at, out);
    if (d->len < PROFILE_LINE_MAX)
        return DECODE_MORE;
    d->dropping = true;
    d->bad++;
    return DECODE_TOO_LONG;
}

uint8_t decode_missing(const struct decoder *d)
{
    if (d->len == 0 || d->dropping || d->usual <= d->len)
        return 0;
    return (uint8_t)(d->usual - d->len);
}
