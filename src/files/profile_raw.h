/* A scale profile as its sections say it. */
#ifndef FILES_PROFILE_RAW_H
#define FILES_PROFILE_RAW_H

#include "files/table.h"

struct raw_scale {
    char name[CAP_KEY];
    uint32_t baud;
    uint8_t bits, stop, parity, flow, sends;
    struct profile_command request, tare, zero, units, end;
    uint32_t period, timeout, silent;
    uint8_t decimal, implied, unit, basis, minus, fill; /* places in their lists of words, but for implied */
    uint8_t length;
};
struct raw_check {
    uint8_t method, bits, negated, as, order; /* places in their lists of words */
};
struct raw_line {
    const char *shape;
};
struct raw_reports {
    uint8_t report;
};
struct raw_registers {
    uint8_t function, type, order; /* places in their lists of words */
    uint16_t weight, status, factor;
};
/* Word lists of [status], [basis], [unit], [sign] or [lines], or the patterns of [bits]; NULL = not given. What each
 * stands for is in its key's `low`; a pattern's kind of field in `high`. */
#define RAW_WORDS 24
struct raw_words {
    const char *list[RAW_WORDS];
};

/* "status:2 "," sign weight:8 blanks unit:2" into the profile's fields. NULL, or what is wrong; near: the known field
 * that may be meant, or "". */
const char *shape_take(const char *shape, struct profile *out, const char **near);
/* Adds the words of one list: bare ones, or in quotes with escapes. NULL, or what is wrong. */
const char *words_take(const char *list, enum field_kind kind, uint8_t means, struct profile *out);
/* Adds the patterns of one key of [bits], such as "2:----1---". NULL, or what is wrong. */
const char *bits_take(const char *list, enum field_kind kind, uint8_t means, struct profile *out);
/* [reports] or [registers] into out, and the request for them; what doesn't go with them is a fault. bits: read already. */
void profile_block(const struct ini *doc, const struct raw_scale *raw, struct profile *out,
                   const struct ini_section *scale, const struct ini_section *block);
/* Words and fields against each other: what fits neither is a fault. */
void profile_cross(const struct ini *doc, const struct raw_scale *raw, const struct profile *p,
                   const struct ini_section *scale, const struct ini_section *line);
/* Whether a line could be read in two ways, or a frame's begin could not be found. The first that is wrong, in the line of
 * the shape; none if every line has one meaning. */
void profile_ambiguous(const struct ini *doc, const struct profile *p, const struct ini_section *line);

#endif
