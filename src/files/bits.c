/* Patterns of named bits: "2:----1--0", the highest bit first. */
#include <string.h>

#include "files/profile_raw.h"

#define BIT_CHARS 8

/* One pattern without blanks around it. */
static const char *take_pattern(const char *at, size_t n, struct profile_bit *out)
{
    if (n == BIT_CHARS + 2 && at[0] >= '1' && at[0] <= '8' && at[1] == ':') {
        out->byte = (uint8_t)(at[0] - '1');
        at += 2;
        n -= 2;
    }
    if (n != BIT_CHARS)
        return "a pattern that has not 8 bits";
    for (size_t i = 0; i < BIT_CHARS; i++) {
        uint8_t bit = (uint8_t)(0x80 >> i);
        if (!strchr("01-", at[i]))
            return "a bit that is none of 0, 1 and -";
        out->mask |= at[i] == '-' ? 0 : bit;
        out->value |= at[i] == '1' ? bit : 0;
    }
    return out->mask ? NULL : "a pattern that fits every byte";
}

const char *bits_take(const char *list, enum field_kind kind, uint8_t means, struct profile *out)
{
    for (const char *at = list + strspn(list, " \t"); *at; at += strspn(at, " \t")) {
        struct profile_bit b = {.kind = (uint8_t)kind, .means = means};
        size_t n = strcspn(at, " \t");
        const char *wrong = take_pattern(at, n, &b);
        if (wrong)
            return wrong;
        if (out->bit_count == PROFILE_BITS)
            return "more than 24 patterns in the file";
        out->named[out->bit_count++] = b;
        at += n;
    }
    return NULL;
}
