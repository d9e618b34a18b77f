/* Bytes into lines. What a line says is decode_line.c's. */
#include <string.h>

#include "core/decode.h"

void decoder_reset(struct decoder *d)
{
    *d = (struct decoder){.first = true};
}

/* Can a line that lost its front not be taken for a whole one? */
static bool fixed_length(const struct profile *p)
{
    for (unsigned i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];

        if (f->width == 0 && f->kind != FIELD_LITERAL && f->kind != FIELD_SIGN)
            return false;
    }
    return true;
}

static bool at_end(const struct profile *p, const struct decoder *d)
{
    return p->end_len > 0 && d->len >= p->end_len && !memcmp(d->line + d->len - p->end_len, p->end, p->end_len);
}

/* A whole line stands in d->line, with its terminator. */
static enum decode_result take_line(const struct profile *p, struct decoder *d, uint64_t at, struct reading *out)
{
    enum decode_result result;
    uint8_t len = d->len;
    bool skip = d->dropping || (d->first && !fixed_length(p));

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

enum decode_result decode_byte(const struct profile *p, struct decoder *d, uint8_t byte, uint64_t at, uint64_t since,
                               struct reading *out)
{
    if (d->dropping) { /* all that matters of it is where it ends */
        d->line[0] = d->line[d->len - 1];
        d->len = 1;
    }
    if (d->len == 0)
        d->since = since;
    d->line[d->len++] = (char)byte;
    if (at_end(p, d))
        return take_line(p, d, at, out);
    if (d->len < PROFILE_LINE_MAX)
        return DECODE_MORE;
    d->dropping = true;
    d->bad++;
    return DECODE_TOO_LONG;
}

/* By the length of the newest good line, which is only a guess: a wrong one costs a wake-up, or some bytes' time. */
uint8_t decode_missing(const struct decoder *d)
{
    if (d->len == 0 || d->dropping || d->usual <= d->len)
        return 0;
    return (uint8_t)(d->usual - d->len);
}
