/* Multiply, then divide, with a 128-bit intermediate: the one place where targets and shares are rounded.
 * Portable C11, no __int128, no #ifdef; the result is the same on a Cortex-M3 and on a PC. */
#ifndef CORE_MULDIV_H
#define CORE_MULDIV_H

#include <stdint.h>

#include "core/fail.h"

enum rounding {
    ROUND_HALF_EVEN, /* to nearest, ties to the even quotient */
    ROUND_DOWN,      /* towards minus infinity */
    ROUND_UP,        /* towards plus infinity */
};

/* *out = a * num / den, rounded as asked.
 * a: any; num: 0 .. 2^63-1; den: 1 .. 2^63-1.
 * FAIL_ZERO: den is 0. FAIL_RANGE: num or den has its top bit set, or the quotient does not fit; *out is untouched. */
enum fail muldiv(int64_t a, uint64_t num, uint64_t den, enum rounding how, int64_t *out);

/* *out = a + b or a - b; FAIL_RANGE instead of a wrap. */
enum fail add64(int64_t a, int64_t b, int64_t *out);
enum fail sub64(int64_t a, int64_t b, int64_t *out);

#endif
