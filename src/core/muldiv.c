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

/* One digit of 2^32 of (rest << 32 | below) / den, and what is left of it. The first guess, by den's upper half alone, is at
 * most two too large where den's top bit is set. */
static uint64_t digit(uint64_t *rest, uint64_t below, uint64_t den)
{
    uint64_t dh = den >> 32, dl = den & UINT32_MAX, guess = *rest / dh, over = *rest % dh;

    while (guess > UINT32_MAX || guess * dl > ((over << 32) | below)) {
        guess--;
        over += dh;
        if (over > UINT32_MAX)
            break;
    }
    *rest = (*rest << 32) + below - guess * den; /* wraps twice, and so not at all */
    return guess;
}

/* w / den for w.high < den < 2^63: Knuth, The Art of Computer Programming, vol. 2, 4.3.1, algorithm D, from memory, with two
 * digits of 32 bits. It is called some hundred times for each reading of a flow. */
static uint64_t divide(struct wide w, uint64_t den, uint64_t *remainder)
{
    unsigned shift = 0;

    if (w.high == 0) {
        *remainder = w.low % den;
        return w.low / den;
    }
    for (unsigned by = 32; by; by /= 2)
        if (den >> (64 - by) == 0) {
            den <<= by;
            shift += by;
        }
    uint64_t rest = (w.high << shift) | (w.low >> (64 - shift)), low = w.low << shift; /* shift > 0: den < 2^63 */
    uint64_t quotient = 0;
    for (int k = 0; k < 2; k++, low <<= 32)
        quotient = (quotient << 32) | digit(&rest, low >> 32, den);
    *remainder = rest >> shift;
    return quotient;
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
