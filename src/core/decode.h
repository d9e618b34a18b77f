/* Decode: bytes of a scale, by its profile, into readings. Hostile bytes of any length are only ever counted.
 *
 * A line counts only if its fields take all of it, in order, each in its width:
 *  - A word (status, basis, unit) is compared without the blanks around it. An unknown status or basis: BAD_LINE; an
 *    unknown unit of printable bytes: READING_UNIT. Of several status fields the highest enum reading_state counts.
 *    In a field without width the longest word of the table counts, for a unit never one that more letters follow.
 *  - The weight: blanks, a sign, blanks, digits with at most one decimal sign (the profile's own, none if decimals are
 *    implied); or the sign behind the digits, or brackets around those of a negative one, as the profile says. It may hold a
 *    status word instead; the line is then that state. Anything else is allowed only if a status word says that there is no
 *    weight. A weight too large for a mass, or whose last place is not whole picograms (a pound beyond 7 places, an ounce
 *    beyond 3): BAD_LINE. So are pounds with a part of a pound beside ounces, and 16 ounces or more; both together are a
 *    reading in ounces.
 *  - Another figure of the line must be one, or blanks in its width.
 *  - A check sum that does not match, or a bit that is not as always: BAD_LINE.
 * A line that is a FIELD_LINE word as a whole (blanks around it aside) says a state without a weight and nothing else. */
#ifndef CORE_DECODE_H
#define CORE_DECODE_H

#include "core/profile.h"

enum decode_result {
    DECODE_MORE,     /* the line is not at its end, or it was passed over unreported */
    DECODE_READING,  /* *out holds a reading (perhaps a state without a weight) */
    DECODE_BAD_LINE, /* a whole line (or as many bytes as a frame has) that is not of the profile's shape */
    DECODE_TOO_LONG, /* no terminator within PROFILE_LINE_MAX; bytes are dropped up to the next one */
};

struct decoder {
    uint8_t len;
    bool first;     /* nothing was read before this line: its front may be missing (see decode_byte) */
    bool dropping;  /* the rest of an over-long line is being skipped */
    uint8_t lost;   /* bytes passed over since the last that were reported, where frames are told by their length */
    uint8_t usual;  /* length of the last good line with its terminator; 0 = none yet */
    uint64_t since; /* see struct reading */
    uint32_t good, bad;
    char line[PROFILE_LINE_MAX];
};

void decoder_reset(struct decoder *d);
/* Feeds one byte, read at `at`; `since` is the previous read that drained the port. A reading carries the `since` of its
 * first byte and the `at` of its last. The first line after a reset may have lost its front, and "12.345" without it is
 * a weight too: it is believed only in a shape of fixed length, otherwise passed over (DECODE_MORE, not counted). */
enum decode_result decode_byte(const struct profile *p, struct decoder *d, uint8_t byte, uint64_t at, uint64_t since,
                               struct reading *out);
/* One whole line without its terminator. Times are left 0. DECODE_READING or DECODE_BAD_LINE. */
enum decode_result decode_line(const struct profile *p, const char *line, uint8_t len, struct reading *out);
/* The length of a line without its end, where every field has its width; else 0. */
uint8_t decode_line_length(const struct profile *p);
/* How many bytes of the current line are still to come, by the last good line's length: 0 if it can't be told or no
 * line has begun. A guess: the rest may be shorter. Lets the reader sleep until the rest is there. */
uint8_t decode_missing(const struct decoder *d);

#endif
