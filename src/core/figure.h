/* Figure: the digits of one field of a line. */
#ifndef CORE_FIGURE_H
#define CORE_FIGURE_H

#include "core/profile.h"

/* A stretch of the line. */
struct span {
    const char *at;
    uint8_t len;
};

struct figure {
    uint64_t value; /* without its decimal sign and sign; at most INT64_MAX */
    uint8_t places; /* digits behind the decimal sign, or p->implied */
    char sign;      /* '+', '-', or ' ' for neither */
};

static inline bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static inline bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* How many blanks it begins with. */
static inline uint8_t span_blanks(struct span s)
{
    uint8_t n = 0;

    while (n < s.len && is_blank(s.at[n]))
        n++;
    return n;
}

/* Its first n bytes, which *rest loses. The caller knows that they are there. */
static inline struct span span_take(struct span *rest, uint8_t n)
{
    struct span s = {rest->at, n};

    rest->at += n;
    rest->len = (uint8_t)(rest->len - n);
    return s;
}

/* Without the blanks around it. */
static inline struct span span_trim(struct span s)
{
    span_take(&s, span_blanks(s));
    while (s.len > 0 && is_blank(s.at[s.len - 1]))
        s.len--;
    return s;
}

/* The bytes of a figure without width: blanks, its own sign or brackets, and all that a number (or, in a row of dashes, no
 * number) is made of. The blanks behind it are not its. */
uint8_t figure_length(const struct profile *p, struct span rest);
/* What stands in the field's bytes. False: not a number in the profile's manner, or one above INT64_MAX. */
bool figure_read(const struct profile *p, const struct profile_field *field, struct span s, struct figure *out);

#endif
