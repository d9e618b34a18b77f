/* Share: a reduced fraction with numerator and denominator below 2^31. "2.5 g per kg of meat", "1.75 %", "340 g for
 * 11.34 kg of meat" are all exact. Mass x share x share fits the 128 bits of muldiv. */
#ifndef CORE_SHARE_H
#define CORE_SHARE_H

#include <stdint.h>

#include "core/mass.h"

struct share {
    uint32_t num; /* 0 .. 2^31-1 */
    uint32_t den; /* 1 .. 2^31-1; 0 means "no share given" */
};

/* num/den reduced. FAIL_ZERO: den is 0; FAIL_RANGE: a term stays at or above 2^31 after reducing. */
enum fail share_make(uint64_t num, uint64_t den, struct share *out);
/* part/whole of two masses, both >= 0, whole > 0, reduced: the seasoning bag's words. */
enum fail share_of_masses(mass_pg part, mass_pg whole, struct share *out);
/* An unsigned decimal ("1.75") over 100 (percent), 1,000,000 (ppm) or 1: digits as in mass_from_decimal, but at most 18
 * that count (else FAIL_RANGE). */
enum fail share_from_decimal(const char *digits, size_t n, uint32_t over, struct share *out);
/* mass * share, rounded to the picogram as asked. FAIL_ZERO for a share that was not given. */
enum fail share_of(mass_pg mass, struct share share, enum rounding how, mass_pg *out);
/* mass * a / b: for a limit on a substance that is the fraction b of an ingredient. */
enum fail share_of_ratio(mass_pg mass, struct share a, struct share b, enum rounding how, mass_pg *out);
/* part / whole in millionths of a percent (10^-8), half-even, for actual percents and ppm (1 ppm = 100). */
enum fail share_micropercent(mass_pg part, mass_pg whole, int64_t *out);

#endif
