/* Scaling: from the meat basis to exact targets. Nothing here knows a scale: rounding to divisions is band_make's. */
#ifndef CORE_SCALING_H
#define CORE_SCALING_H

#include "core/formula.h"

/* Exact (to the picogram, half-even) target of every ingredient for this meat basis (> 0), into targets[], indexed like
 * formula->ingredients. Meats get their planned share of the block.
 * The last meat takes the rounding remainder, so that they sum to the basis.
 * BASE_TOTAL shares: total = (meat + all BASE_MEAT masses) / (1 - sum of BASE_TOTAL shares).
 * FAIL_RANGE: a mass overflows, the BASE_TOTAL shares reach 100 %, or their common denominator 2^62 (never, if each is
 * a percentage of at most six decimals). FAIL_ZERO: a share was not given. */
enum fail scale_formula(const struct formula *f, mass_pg meat, mass_pg targets[CAP_INGREDIENTS]);
/* Sum of meat and all targets that are not meat. */
enum fail scale_total(const struct formula *f, mass_pg meat, const mass_pg targets[CAP_INGREDIENTS], mass_pg *total);
/* Largest lawful mass of a regulated ingredient: base * limit / content, rounded down to the picogram.
 * meat, total: the masses the limit's base may name. */
enum fail limit_mass(const struct ingredient *in, const struct limit *limit, mass_pg meat, mass_pg total, mass_pg *out);

#endif
