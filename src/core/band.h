/* Band: the lowest and highest acceptable net mass around a target, both ends counted (common practice, no source). */
#ifndef CORE_BAND_H
#define CORE_BAND_H

#include <stdbool.h>

#include "core/share.h"

/* One side of a band as the formula gives it: a share of the target, or a mass. */
struct band_side {
    bool given;
    bool is_mass;
    struct share share;
    mass_pg mass;
};
struct band_spec {
    struct band_side under, over;
};
struct band {
    mass_pg target, low, high; /* low <= target <= high */
};
enum verdict { VERDICT_IN, VERDICT_OVER, VERDICT_UNDER };

/* The band around `exact` (the unrounded target) on a scale of this division (> 0).
 * Target: half-even to the division; for a regulated ingredient (limit >= 0, the largest lawful mass) rounded down and
 * the upper edge is the smaller of its band and the limit rounded down. Low rounds up and high rounds down to the
 * division, so that every reading inside them is lawful; a band too narrow to hold the target is widened to it, but
 * never above the limit (then FAIL_RANGE: the limit leaves no room). A side not given is exactly the target.
 * FAIL_RANGE too for a target that is more than nothing but rounds to 0: this scale can't show it. FAIL_ZERO: division
 * <= 0. */
enum fail band_make(mass_pg exact, const struct band_spec *spec, mass_pg division, mass_pg limit, struct band *out);
/* Where taking out should lead: the target, but two divisions below the upper edge (one, where two would be the lower edge;
 * none where the band has no room): a net on the edge itself would go on flickering above it. */
mass_pg band_inside(const struct band *band, mass_pg division);
enum verdict band_judge(const struct band *band, mass_pg net);

#endif
