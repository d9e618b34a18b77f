/* Muldiv: see muldiv.h. Written for a processor of 32 bits: no 128-bit type, no library call behind an operator. */
#include <stdbool.h>

#include "core/muldiv.h"

struct wide {
    uint64_t high, low;
};

/* Schoolbook product of 32-bit halves: a Cortex-M3 has no wider multiply. */
static struct wide multiply(uint64_t a, uint64_t b)
{
    uint64_t al = a & UINT32_MAX, ah = a >> 32, bl = b & UINT32_MAX, bh = b >> 32;
    uint64_t low = al * bl, mid = ah * bl + (low >> 32), cross = al * bh + (mid & UINT32_MAX);

    return (struct wide){.high = ah * bh + (mid >> 32) + (cross >> 32), .low = (cross << 32) | (low & UINT32_MAX)};
}

/* w / den for w.high < den < 2^63, bit by bit: no 128-bit type, no library division, and the remainder never
 * reaches 64 bits when shifted. */
static uint64_t divide(struct wide w, uint64_t den, uint64_t *remainder)
{
    uint64_t rest = w.high, bits = w.low;

    for (int i = 0; i < 64; i++) {
        rest = (rest << 1) | (bits >> 63);
        bits <<= 1;
        if (rest >= den) {
            rest -= den;
            bits |= 1;
        }
    }
    *remainder = rest;
    return bits;
}

/* Does the magnitude grow by one? */
static bool away_from_zero(uint64_t quotient, uint64_t rest, uint64_t den, bool negative, enum rounding how)
{
    if (rest == 0)
        return false;
    if (how == ROUND_DOWN)
        return negative;
    if (how == ROUND_UP)
        return !negative;
    return rest > den - rest || (rest == den - rest && (quotient & 1));
}

enum fail muldiv(int64_t a, uint64_t num, uint64_t den, enum rounding how, int64_t *out)
{
    bool negative = a < 0;
    uint64_t size = negative ? 0 - (uint64_t)a : (uint64_t)a;
    uint64_t most = (uint64_t)INT64_MAX + negative, quotient, rest;
    struct wide product;

    if (den == 0)
        return FAIL_ZERO;
    if (num > INT64_MAX || den > INT64_MAX)
        return FAIL_RANGE;
    product = multiply(size, num);
    if (product.high >= den) /* the quotient would need more than 64 bits */
        return FAIL_RANGE;
    quotient = divide(product, den, &rest);
    if (quotient > most)
        return FAIL_RANGE;
    if (away_from_zero(quotient, rest, den, negative, how)) {
        if (quotient == most)
            return FAIL_RANGE;
        quotient++;
    }
    if (negative && quotient)
        *out = -(int64_t)(quotient - 1) - 1; /* reaches INT64_MIN without a conversion that C leaves open */
    else
        *out = (int64_t)quotient;
    return FAIL_NONE;
}

enum fail add64(int64_t a, int64_t b, int64_t *out)
{
    if (b > 0 ? a > INT64_MAX - b : a < INT64_MIN - b)
        return FAIL_RANGE;
    *out = a + b;
    return FAIL_NONE;
}

enum fail sub64(int64_t a, int64_t b, int64_t *out)
{
    if (b < 0 ? a > INT64_MAX + b : a < INT64_MIN + b)
        return FAIL_RANGE;
    *out = a - b;
    return FAIL_NONE;
}
