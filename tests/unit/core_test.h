/* What the tests of core share: cmocka's headers, and numbers by chance that are the same in every run. */
#ifndef TESTS_CORE_TEST_H
#define TESTS_CORE_TEST_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* xorshift64 (Marsaglia 2003). */
static inline uint64_t chance(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

static inline uint64_t chance_below(uint64_t *seed, uint64_t n)
{
    return chance(seed) % n;
}

/* Of any number of bits, so that small and large values come equally often. */
static inline uint64_t chance_bits(uint64_t *seed, unsigned most)
{
    uint64_t bits = chance_below(seed, most + 1);

    return bits ? chance(seed) >> (64 - bits) : 0;
}

static inline int64_t chance_signed(uint64_t *seed)
{
    uint64_t v = chance_bits(seed, 63);

    return chance(seed) & 1 ? -(int64_t)v - 1 : (int64_t)v;
}

#endif
